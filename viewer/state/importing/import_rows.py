"""What became of each file of an import, as rows for a list."""

from dataclasses import dataclass

from viewer.reading.file_reading import FileReading

WAITING, READ, DOUBTFUL, FAILED, COPY = "waiting", "read", "doubtful", "failed", "copy"
STATES: dict[str, str] = {
    READ: "Read",
    DOUBTFUL: "To look at",
    FAILED: "Not read",
    COPY: "Copy",
    WAITING: "Waiting",
}
"""State of a file to the words for it."""


@dataclass(frozen=True)
class ImportRow:
    """One file. `what` counts its traces.

    `why` says what to look at or what failed, where in the file, and how to mend it.
    """

    source: str
    state: str
    what: str = ""
    why: str = ""


def waiting_row(source: str) -> ImportRow:
    return ImportRow(source, WAITING)


def copy_row(source: str, same_as: str) -> ImportRow:
    return ImportRow(source, COPY, "0", f"The same bytes (SHA-256) as {same_as}.")


def read_row(reading: FileReading) -> ImportRow:
    """The row of a file that was read, well or not."""
    count, bad = len(reading.traces), len(reading.failures)
    what = f"{count}"
    if bad:
        if count:
            what += f", {bad} not"
        return ImportRow(reading.source, FAILED, what, " ".join(_problems(reading)))
    if reading.doubts:
        return ImportRow(reading.source, DOUBTFUL, what, " ".join(reading.doubts))
    return ImportRow(reading.source, READ, what, " ".join(_remarks(reading)))


def _problems(reading: FileReading) -> list[str]:
    """Each sentence once, ended as a sentence."""
    said = dict.fromkeys(one.problem for one in reading.failures)
    return [one if one.endswith(".") else f"{one}." for one in said]


def _remarks(reading: FileReading) -> list[str]:
    return list(dict.fromkeys(remark for one in reading.traces for remark in one.remarks))
