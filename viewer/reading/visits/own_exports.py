"""Tables of points that the program itself has exported, lying among the traces they came from.

Such a table is read like any other where it lies alone. Beside the files of its traces, told by
the SHA-256 that it gives of each, it would bring every trace a second time.
"""

import hashlib
from collections.abc import Iterable
from pathlib import Path

from viewer.reading.file_reading import FileReading
from viewer.reading.tables.raw_table import RawTable
from viewer.site_data.iv_trace import NotATrace, Trace
from viewer.site_data.results_mark import COLUMNS_FILE, COLUMNS_SENTENCE, COPIES, POINT_COLUMNS


def is_column_list(source: str, reading: FileReading) -> bool:
    """Whether it tells the columns of an exported table and holds no sweep."""
    return source.endswith(COLUMNS_FILE) and not reading.traces


def column_list(source: str) -> NotATrace:
    return NotATrace(source, f"{source} {COLUMNS_SENTENCE}")


def without_copies(
    reading: FileReading, folder: Path, sources: Iterable[str]
) -> tuple[Trace | NotATrace, ...]:
    """Its traces but for those whose own files lie among the sources, and a word on these."""
    tables = [one for one in reading.tables if set(one.names) >= POINT_COLUMNS]
    if not tables:
        return reading.traces
    came_from = {name: digest for one in tables for name, digest in _digests(one)}
    known = {_digest(folder / one) for one in sources if one != reading.source} - {None}
    own = [
        one for one in reading.traces if came_from.get(one.source.partition("#")[2]) not in known
    ]
    count = len(reading.traces) - len(own)
    if not count:
        return reading.traces
    sentence = COPIES.format(source=reading.source, count=count, all=len(reading.traces))
    return (*own, NotATrace(reading.source, sentence))


def _digests(table: RawTable) -> Iterable[tuple[str, str]]:
    """The name of each trace and the SHA-256 of the file it was read from."""
    trace, digest = (table.texts(table.names.index(one)) for one in ("trace", "sha256"))
    return dict(zip(trace, digest, strict=True)).items()


def _digest(path: Path) -> str | None:
    try:
        with path.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError:
        return None
