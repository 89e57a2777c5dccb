"""Bringing a site file of an older format forward, one step a format, with a copy kept."""

import sqlite3
from pathlib import Path

from viewer.physics.nomenclature import counted
from viewer.site_data.site_file.errors import SiteFileError

SCHEMA_VERSION = 4
"""The format this program writes."""

STEPS: dict[int, str] = {
    # Format 2 adds the terms of the modules' power warranty, and finds a file's traces quickly.
    1: """
ALTER TABLE module_types ADD COLUMN warranty_first_year REAL;
ALTER TABLE module_types ADD COLUMN warranty_annual REAL;
ALTER TABLE module_types ADD COLUMN warranty_years REAL;
ALTER TABLE module_types ADD COLUMN warranty_steps TEXT;
ALTER TABLE module_types ADD COLUMN warranty_start TEXT;
ALTER TABLE module_types ADD COLUMN warranty_rated_power REAL;
CREATE INDEX traces_by_file ON traces (file_sha256);
""",
    # Format 3 adds what people draw on plots.
    2: """
CREATE TABLE plot_marks (
    id         INTEGER PRIMARY KEY,
    trace_id   INTEGER NOT NULL REFERENCES traces (id),
    kind       TEXT NOT NULL,
    panel      TEXT NOT NULL,
    form       TEXT NOT NULL,
    points     TEXT NOT NULL,
    text       TEXT NOT NULL,
    point      INTEGER,
    author     TEXT,
    created_at TEXT NOT NULL
);
CREATE INDEX plot_marks_by_trace ON plot_marks (trace_id);
""",
    # Format 4 knows which import brought a part of the layout, so that undo takes it back, too.
    3: """
ALTER TABLE module_types ADD COLUMN import_id INTEGER REFERENCES imports (id);
ALTER TABLE combiners ADD COLUMN import_id INTEGER REFERENCES imports (id);
ALTER TABLE strings ADD COLUMN import_id INTEGER REFERENCES imports (id);
CREATE VIEW current_module_types AS
    SELECT module_types.*
    FROM module_types LEFT JOIN imports ON imports.id = module_types.import_id
    WHERE imports.hidden IS NOT 1;
CREATE VIEW current_combiners AS
    SELECT combiners.*
    FROM combiners LEFT JOIN imports ON imports.id = combiners.import_id
    WHERE imports.hidden IS NOT 1;
CREATE VIEW current_strings AS
    SELECT strings.*
    FROM strings LEFT JOIN imports ON imports.id = strings.import_id
    WHERE imports.hidden IS NOT 1;
""",
}
"""SQL that brings a file of the key's format to the next one."""


def migrate(path: Path, connection: sqlite3.Connection, version: int, read_only: bool) -> None:
    """Bring the open file from `version` to SCHEMA_VERSION in one transaction.

    A copy named like the file with `.format-N` added is kept beside it. When anything fails
    the file stays as it was. Raises SiteFileError or sqlite3.Error.
    """
    if version not in STEPS:
        raise SiteFileError(f"{path.name}: format {version} was never published; it is damaged.")
    if read_only:
        raise SiteFileError(
            f"{path.name}: it has the older format {version} and is read-only; copy it to a "
            "folder you may write to and open it there."
        )
    connection.execute("BEGIN IMMEDIATE")
    try:
        now = connection.execute("PRAGMA user_version").fetchone()[0]
        if now == version:
            keep_copy(path, version)
        for step in range(now, SCHEMA_VERSION):
            _run_step(connection, STEPS[step])
        connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")
        broken = connection.execute("PRAGMA foreign_key_check").fetchall()
        if broken:
            raise SiteFileError(
                f"{path.name}: it could not be brought to the new format because "
                f"{counted(len(broken), 'row points', 'rows point')} to what is missing; the file "
                "was left as it was."
            )
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def keep_copy(path: Path, version: int) -> Path:
    """Copy the file as it is now, changes still in the log included; return the copy's path."""
    number = 1
    while True:
        addition = "" if number == 1 else f"-{number}"
        copy = path.with_name(f"{path.stem}.format-{version}{addition}{path.suffix}")
        if not copy.exists():
            break
        number += 1
    reader = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)
    target = sqlite3.connect(copy)
    try:
        reader.backup(target)
    except BaseException:
        target.close()
        copy.unlink(missing_ok=True)
        raise
    finally:
        target.close()
        reader.close()
    return copy


def _run_step(connection: sqlite3.Connection, script: str) -> None:
    """Run the statements of a script inside the open transaction (executescript would commit)."""
    statement = ""
    for line in script.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            connection.execute(statement)
            statement = ""
    if statement.strip():
        raise ValueError("a migration step does not end with a semicolon")
