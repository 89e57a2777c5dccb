"""Opening what is not there, not ours, newer, locked, full or read-only ends in one sentence."""

import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from tests.site_data.site_file.example_data import LAYOUT, imported, new_file, some_traces
from viewer.site_data.site_file import connection as connecting
from viewer.site_data.site_file.connection import (
    APPLICATION_ID,
    create_site_file,
    is_site_file,
    open_or_create,
    open_site_file,
)
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.importing import import_files
from viewer.site_data.site_file.layout_rows import read_layout
from viewer.site_data.site_file.listing import list_traces
from viewer.site_data.site_file.migrations import SCHEMA_VERSION


def fill(path: Path, count: int = 3, first: int = 0) -> None:
    with open_or_create(path) as site_file:
        files = imported(some_traces(count, first))
        import_files(site_file, LAYOUT, files, folder="f", program_version="1")


def test_a_new_file_says_what_it_is(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    with create_site_file(path):
        assert is_site_file(path)  # although what follows may still be in the log
    head = path.read_bytes()[:100]
    assert head.startswith(b"SQLite format 3\0")
    assert head[68:72] == b"CvWr" == APPLICATION_ID.to_bytes(4, "big")
    assert int.from_bytes(head[60:64], "big") == SCHEMA_VERSION
    assert is_site_file(path)


def test_commits_reach_the_disk_before_they_are_reported(tmp_path: Path) -> None:
    with create_site_file(new_file(tmp_path)) as site_file:
        ask = site_file.connection.execute
        assert ask("PRAGMA journal_mode").fetchone() == ("wal",)
        assert ask("PRAGMA synchronous").fetchone() == (2,)  # FULL
        assert ask("PRAGMA foreign_keys").fetchone() == (1,)


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(SiteFileError, match="there is no such file"):
        open_site_file(tmp_path / "none.curvewright")


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(SiteFileError, match="does not exist; make it first"):
        create_site_file(tmp_path / "none" / "x.curvewright")


def test_an_existing_file_is_not_overwritten(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    fill(path)
    with pytest.raises(SiteFileError, match="exists already"):
        create_site_file(path)


def test_text_instead_of_a_database(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    path.write_text("voltage,current\n" * 100)
    with pytest.raises(SiteFileError, match="not a site file"):
        open_site_file(path)
    assert not is_site_file(path)
    assert path.read_text().startswith("voltage")


def test_a_database_of_another_program(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE t (x)")
    other.close()
    before = path.read_bytes()
    with pytest.raises(SiteFileError, match="not a site file"):
        open_site_file(path)
    assert path.read_bytes() == before


def test_a_newer_file_is_refused_and_untouched(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    fill(path)
    with sqlite3.connect(path) as other:
        other.execute(f"PRAGMA user_version = {SCHEMA_VERSION + 1}")
    other.close()
    before = path.read_bytes()
    with pytest.raises(SiteFileError, match=r"newer Curvewright .*update the program"):
        open_site_file(path)
    assert path.read_bytes() == before


def test_an_empty_file_left_by_a_crash_is_taken_for_new(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    path.touch()
    fill(path)
    with open_site_file(path) as site_file:
        assert len(list_traces(site_file)) == 3


def test_a_crash_while_the_file_is_made_leaves_nothing_in_the_way(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    code = f"""
import os
from importlib.resources import files
from pathlib import Path
from viewer.site_data.site_file import connection as connecting

text = files("viewer.site_data.site_file").joinpath("schema.sql").read_text("utf-8")
half = text[: text.rindex("CREATE VIEW")]
made = connecting._connect(Path({str(path)!r}), "rwc")
made.execute("PRAGMA cache_size = 2")  # so that pages reach the file before the commit
made.executescript("BEGIN IMMEDIATE;" + half)
os._exit(1)
"""
    subprocess.run([sys.executable, "-c", code], check=False, cwd=Path(__file__).parents[3])
    assert path.stat().st_size > 0
    fill(path)
    with open_site_file(path) as site_file:
        assert len(list_traces(site_file)) == 3


def test_a_damaged_file_is_named_damaged(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    fill(path, 200)
    content = bytearray(path.read_bytes())
    content[4096:] = b"\xa5" * (len(content) - 4096)
    path.write_bytes(content)
    with pytest.raises(SiteFileError, match="damaged"), open_site_file(path) as site_file:
        list_traces(site_file)


def test_a_full_disk_keeps_what_was_stored(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    fill(path)
    with open_site_file(path) as site_file:
        pages = site_file.connection.execute("PRAGMA page_count").fetchone()[0]
        site_file.connection.execute(f"PRAGMA max_page_count = {pages + 10}")
        files = imported(some_traces(500, first=100))
        with pytest.raises(SiteFileError, match="the disk is full; free some space"):
            import_files(site_file, LAYOUT, files, folder="f", program_version="1")
        assert len(list_traces(site_file)) == 3
        assert site_file.faults() == []


def test_a_file_locked_by_another_program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = new_file(tmp_path)
    fill(path)
    monkeypatch.setattr(connecting, "WAIT_FOR_OTHERS", 0.05)
    with open_site_file(path) as one, open_site_file(path) as other, one.writing():
        assert not other.read_only
        with pytest.raises(SiteFileError, match="another program is writing"), other.writing():
            pass
        assert len(list_traces(other)) == 3


def test_two_windows_write_in_turn_and_see_each_other(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    fill(path)
    with open_site_file(path) as one, open_site_file(path) as other:
        files = imported(some_traces(2, first=50))
        import_files(other, LAYOUT, files, folder="g", program_version="1")
        assert len(list_traces(one)) == 5
        files = imported(some_traces(1, first=70))
        import_files(one, LAYOUT, files, folder="h", program_version="1")
        assert len(list_traces(other)) == 6
        assert one.faults() == []


def test_opened_for_reading_only_it_refuses_to_write(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    fill(path)
    with open_site_file(path, read_only=True) as site_file:
        assert read_layout(site_file) == LAYOUT
        with pytest.raises(SiteFileError, match="read-only; copy it to a folder"):
            import_files(site_file, LAYOUT, [], folder="f", program_version="1")


def test_media_where_nothing_can_be_made_beside_it(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    fill(path)
    immutable = connecting._connect_immutable(path)
    assert immutable.execute("SELECT count(*) FROM traces").fetchone() == (3,)
    immutable.close()
    assert [one.name for one in tmp_path.iterdir()] == [path.name]


def test_changes_left_in_the_log_on_such_media_are_not_passed_over(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    fill(path)
    path.with_name(path.name + "-wal").write_bytes(b"something")
    with pytest.raises(SiteFileError, match="last changes are still in"):
        connecting._connect_immutable(path)
