"""What can go wrong with a site file, each in one sentence for people."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class SiteFileError(ValueError):
    """A site file that cannot be read or written; the message is one clear sentence."""


_SENTENCES: dict[int, str] = {
    sqlite3.SQLITE_FULL: "the disk is full; free some space and repeat the last step, "
    "everything stored before it is kept",
    sqlite3.SQLITE_READONLY: "it or its folder is read-only; copy it to a folder you may write to",
    sqlite3.SQLITE_BUSY: "another program is writing to it; wait a moment and repeat the last step",
    sqlite3.SQLITE_LOCKED: "another program is writing to it; wait a moment and repeat "
    "the last step",
    sqlite3.SQLITE_CORRUPT: "it is damaged; keep it, and go back to a copy",
    sqlite3.SQLITE_NOTADB: "it is not a site file; choose a file made by `curvewright import`",
    sqlite3.SQLITE_CANTOPEN: "it cannot be opened; check the folder's name and whether you may "
    "write to it",
    sqlite3.SQLITE_IOERR: "the disk reported an error; check the drive or the network connection",
    sqlite3.SQLITE_PERM: "you have no rights to it; ask its owner",
    sqlite3.SQLITE_CONSTRAINT: "something else in the file refers to this entry; remove that first",
    sqlite3.SQLITE_TOOBIG: "a value is too large to store; attach a smaller file",
}


def sentence(path: Path, error: sqlite3.Error) -> str:
    """One sentence for an error of SQLite on the site file at `path`."""
    code = getattr(error, "sqlite_errorcode", None)
    primary = code & 0xFF if code is not None else None
    what = _SENTENCES.get(primary) if primary is not None else None
    return f"{path.name}: {what or f'the database reported: {error}'}."


@contextmanager
def told_plainly(path: Path) -> Iterator[None]:
    """Turn SQLite's errors inside the block into SiteFileError."""
    try:
        yield
    except sqlite3.Error as error:
        raise SiteFileError(sentence(path, error)) from error
