"""What the reader refuses, so that no file can hang it or fill the memory."""

import time
from dataclasses import dataclass, field

SIZE_LIMIT = 32_000_000
"""Bytes of one file; a sweep of 200 points has about 5,000."""

ROW_LIMIT = 300_000
"""Rows of one file: 1,500 traces of 200 points."""

COLUMN_LIMIT = 2_000
"""Columns of one row: 1,000 traces side by side."""

SECONDS_LIMIT = 2.0
"""Computing time given to a file of up to a million bytes."""

MOST_SECONDS = 10.0
"""Computing time given to the largest files."""

UNPACKED_LIMIT = 200_000_000
"""Bytes a compressed file (workbook, Parquet) may unpack to."""


class UnreadableFileError(ValueError):
    """A file that gives no trace; the message is one sentence naming it and how to mend it."""


class NoTableError(UnreadableFileError):
    """No line of a text has two numbers; the sentence speaks of a trace file."""


class NoSweepError(UnreadableFileError):
    """Nothing in the file looks like a sweep: it may be something else than a trace file."""


def check_size(size: int, source: str) -> None:
    """Raises UnreadableFileError for a file above SIZE_LIMIT."""
    if size > SIZE_LIMIT:
        raise UnreadableFileError(
            f"{source} has {size:,} bytes; more than {SIZE_LIMIT:,} are refused, "
            "so split it into smaller files."
        )


def check_rows(rows: int, source: str) -> None:
    """Raises UnreadableFileError for more than ROW_LIMIT rows."""
    if rows > ROW_LIMIT:
        raise UnreadableFileError(
            f"{source} has more than {ROW_LIMIT:,} rows; split it into smaller files."
        )


@dataclass
class Deadline:
    """The time one file may take; long loops call `check` now and then.

    Computing time of this thread counts, so that a busy machine refuses no more than an idle
    one.
    """

    source: str
    seconds: float = SECONDS_LIMIT
    _begun: float = field(default_factory=time.thread_time)

    def allow_for(self, size: int) -> None:
        """More time for a large file: SECONDS_LIMIT for each million bytes, to MOST_SECONDS."""
        self.seconds = max(self.seconds, min(MOST_SECONDS, SECONDS_LIMIT * size / 1e6))

    def check(self) -> None:
        """Raises UnreadableFileError once the time is over."""
        if time.thread_time() - self._begun > self.seconds:
            raise UnreadableFileError(
                f"{self.source} took longer than {self.seconds:.0f} s to read; "
                "split it or export it more simply."
            )
