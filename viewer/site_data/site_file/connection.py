"""Opening, creating and closing a site file, and its transactions."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from types import TracebackType

from viewer.site_data.site_file.errors import SiteFileError, told_plainly
from viewer.site_data.site_file.migrations import SCHEMA_VERSION, migrate

APPLICATION_ID = int.from_bytes(b"CvWr", "big")
SUFFIX = ".curvewright"
WAIT_FOR_OTHERS = 10.0
"""How long a write waits for another program's, s."""


@dataclass(frozen=True, eq=False)
class SiteFile:
    """An open site file. Use it in the thread that opened it; each thread opens its own."""

    path: Path
    connection: sqlite3.Connection
    read_only: bool = False

    def __enter__(self) -> "SiteFile":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        with told_plainly(self.path):
            self.connection.close()

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction: all of the block is stored, or nothing of it.

        Inside another such block it is part of that one.
        When the block ends without an error the changes are on the disk (fsync), not only
        handed to the operating system. Raises SiteFileError.
        """
        with told_plainly(self.path):
            if self.connection.in_transaction:
                yield self.connection
                return
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield self.connection
                self.connection.execute("COMMIT")
            except BaseException:
                if self.connection.in_transaction:
                    self.connection.execute("ROLLBACK")
                raise

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """One consistent view of the file while others may write. Raises SiteFileError."""
        with told_plainly(self.path):
            if self.connection.in_transaction:
                yield self.connection
                return
            self.connection.execute("BEGIN")
            try:
                yield self.connection
            finally:
                self.connection.execute("ROLLBACK")

    def faults(self) -> list[str]:
        """What SQLite's own check of the whole file finds; empty when all is well."""
        with told_plainly(self.path):
            rows = self.connection.execute("PRAGMA integrity_check").fetchall()
            orphans = self.connection.execute("PRAGMA foreign_key_check").fetchall()
        said = [text for (text,) in rows if text != "ok"]
        return said + [f"{row[0]} row {row[1]} points to a missing {row[2]}" for row in orphans]


def create_site_file(path: Path) -> SiteFile:
    """Make a new, empty site file. Raises SiteFileError when something is there already."""
    if path.exists() and not _holds_nothing(path):
        raise SiteFileError(f"{path.name}: exists already; choose another name or open it.")
    if not path.parent.is_dir():
        raise SiteFileError(f"{path}: the folder {path.parent} does not exist; make it first.")
    with told_plainly(path):
        connection = _connect(path, "rwc")
    try:
        with told_plainly(path):
            _make_schema(connection)
            connection.execute("PRAGMA journal_mode = WAL")
    except SiteFileError:
        connection.close()
        raise
    return SiteFile(path, connection)


def open_site_file(path: Path, *, read_only: bool = False) -> SiteFile:
    """Open an existing site file, migrating an older one with a copy kept beside it.

    Falls back to reading only where the file or its folder may not be written.
    Raises SiteFileError with one sentence: not there, not a site file, newer, damaged, locked.
    """
    if path.is_dir():
        raise SiteFileError(
            f"{path}: it is a folder; `curvewright import` makes a site file of one."
        )
    if not path.is_file():
        raise SiteFileError(f"{path}: there is no such file.")
    with told_plainly(path):
        connection, read_only = _connect_existing(path, read_only)
        try:
            _check_identity(path, connection)
            if not read_only:
                connection.execute("PRAGMA journal_mode = WAL")
            version = connection.execute("PRAGMA user_version").fetchone()[0]
            if version < SCHEMA_VERSION:
                migrate(path, connection, version, read_only)
        except BaseException:
            connection.close()
            raise
    return SiteFile(path, connection, read_only)


def open_or_create(path: Path) -> SiteFile:
    """The site file at `path`, made when nothing is there or a crash left one half made."""
    if path.exists() and not _holds_nothing(path):
        site_file = open_site_file(path)
        if site_file.read_only:
            site_file.close()
            raise SiteFileError(
                f"{path.name}: it or its folder is read-only; copy it to a folder you may write to."
            )
        return site_file
    return create_site_file(path)


def _holds_nothing(path: Path) -> bool:
    """Whether the file is empty, once SQLite has taken back what a crash left in it."""
    if not path.is_file() or is_site_file(path):
        return False
    if path.stat().st_size == 0:
        return True
    if not path.with_name(path.name + "-journal").exists():
        return False
    with told_plainly(path):
        connection = _connect(path, "rw")
        try:
            tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
            identity = connection.execute("PRAGMA application_id").fetchone()[0]
        finally:
            connection.close()
    return tables == 0 and identity == 0


def looks_like_site_file(path: Path) -> bool:
    """Whether a user naming this file means a site file: by its name or by its first bytes."""
    return path.suffix == SUFFIX or is_site_file(path)


def is_site_file(path: Path) -> bool:
    """Whether `path` is a file that begins like a site file; reads 72 bytes, never raises."""
    try:
        with path.open("rb") as stream:
            head = stream.read(72)
    except OSError:
        return False
    marked = int.from_bytes(head[68:72], "big") == APPLICATION_ID
    return head.startswith(b"SQLite format 3\x00") and marked


def _connect(path: Path, mode: str, immutable: bool = False) -> sqlite3.Connection:
    uri = f"{path.resolve().as_uri()}?mode={mode}" + ("&immutable=1" if immutable else "")
    connection = sqlite3.connect(uri, uri=True, timeout=WAIT_FOR_OTHERS, isolation_level=None)
    try:
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA fullfsync = ON")
    except BaseException:
        connection.close()
        raise
    return connection


def _connect_existing(path: Path, read_only: bool) -> tuple[sqlite3.Connection, bool]:
    """A connection that has read the file once, and whether it may only read."""
    if not read_only:
        try:
            connection = _connect(path, "rw")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF not in (
                sqlite3.SQLITE_READONLY,
                sqlite3.SQLITE_CANTOPEN,
            ):
                raise
        else:
            return connection, not _may_write(connection)
    try:
        connection = _connect(path, "ro")
        connection.execute("PRAGMA user_version").fetchone()
    except sqlite3.OperationalError as error:
        if error.sqlite_errorcode & 0xFF not in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN):
            raise
        return _connect_immutable(path), True
    return connection, True


def _connect_immutable(path: Path) -> sqlite3.Connection:
    """For media where SQLite cannot even make its shared-memory file."""
    log = path.with_name(path.name + "-wal")
    if log.exists() and log.stat().st_size > 0:
        raise SiteFileError(
            f"{path.name}: its last changes are still in {log.name} and this folder is read-only; "
            "copy both files to a folder you may write to and open it there."
        )
    return _connect(path, "ro", immutable=True)


def _may_write(connection: sqlite3.Connection) -> bool:
    """Ask for the write lock once; a lock held by another program means yes."""
    try:
        connection.execute("PRAGMA busy_timeout = 0")
        connection.execute("BEGIN IMMEDIATE")
        connection.execute("ROLLBACK")
    except sqlite3.OperationalError as error:
        return error.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY
    finally:
        connection.execute(f"PRAGMA busy_timeout = {int(WAIT_FOR_OTHERS * 1000)}")
    return True


def _check_identity(path: Path, connection: sqlite3.Connection) -> None:
    identity = connection.execute("PRAGMA application_id").fetchone()[0]
    if identity != APPLICATION_ID:
        raise SiteFileError(
            f"{path.name}: it is not a site file; choose a file made by `curvewright import`."
        )
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if version > SCHEMA_VERSION:
        raise SiteFileError(
            f"{path.name}: it was written by a newer Curvewright (format {version}, this one "
            f"reads up to {SCHEMA_VERSION}); update the program, the file was left untouched."
        )


def _make_schema(connection: sqlite3.Connection) -> None:
    """In the plain journal mode, so that the file itself says what it is from the first commit."""
    text = files("viewer.site_data.site_file").joinpath("schema.sql").read_text("utf-8")
    connection.executescript(
        f"BEGIN IMMEDIATE;\n{text}\nPRAGMA application_id = {APPLICATION_ID};\n"
        f"PRAGMA user_version = {SCHEMA_VERSION};\nCOMMIT;"
    )
