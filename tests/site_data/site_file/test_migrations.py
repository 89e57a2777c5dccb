"""An older file comes forward with a copy kept; a failed step leaves it as it was."""

import sqlite3
from pathlib import Path

import pytest

from tests.site_data.site_file.example_data import LAYOUT, imported, new_file, some_traces
from viewer.site_data.site_file import migrations
from viewer.site_data.site_file.connection import (
    APPLICATION_ID,
    create_site_file,
    open_site_file,
)
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.importing import import_files
from viewer.site_data.site_file.journal import undo
from viewer.site_data.site_file.layout_rows import read_layout
from viewer.site_data.site_file.listing import list_traces
from viewer.site_data.site_file.trace_rows import read_traces

SHEET = (
    "key, technology, i_sc, v_oc, i_mp, v_mp, alpha_sc, beta_voc, gamma_pmp, cells_in_series, "
    "parallel_paths, bypass_diodes, bifaciality"
)


def old_file(path: Path, version: int) -> None:
    """A file as that format was written, with one trace; the table texts are of its time."""
    connection = sqlite3.connect(path, isolation_level=None)
    connection.executescript(Path(__file__).with_name(f"format_{version}.sql").read_text("utf-8"))
    connection.executescript(
        f"""
        PRAGMA journal_mode = WAL;
        PRAGMA application_id = {APPLICATION_ID};
        PRAGMA user_version = {version};
        INSERT INTO sites (id, name) VALUES (1, 'Invented field');
        INSERT INTO module_types (id, site_id, {SHEET}) VALUES (1, 1, 'A', 'mono-Si', 9.5, 45.5,
            9.0, 37.5, 0.05, -0.29, -0.37, 72, 1, 3, 0.0);
        INSERT INTO combiners VALUES (1, 1, 'CB1', 0, '{{}}');
        INSERT INTO strings VALUES (1, 1, 'S1', 1, 24, 1, 0, '{{}}');
        INSERT INTO visits VALUES (1, 1, 'first', '2020-06-01T12:00:00', '2020-06-01T12:00:00',
            1, NULL);
        INSERT INTO imports VALUES (1, 'visits', '2020-06-02T00:00:00+00:00', '0.0', 0);
        INSERT INTO traces (id, import_id, visit_id, string_id, source, combiner, string,
            measured_at) VALUES (1, 1, 1, 1, 'a.csv', 'CB1', 'S1', '2020-06-01T12:00:00');
        INSERT INTO trace_points VALUES (1, 1, x'0000000000000840', x'000000000000f03f');
        INSERT INTO conditions (trace_id, poa_global) VALUES (1, 812.5);
        """
    )
    connection.close()


def format_1_file(path: Path) -> None:
    old_file(path, 1)


def columns(path: Path) -> dict[str, set[tuple]]:
    connection = sqlite3.connect(path)
    tables = [
        name
        for (name,) in connection.execute(
            "SELECT name FROM sqlite_master WHERE type IN ('table', 'view') ORDER BY name"
        )
    ]
    found = {
        table: {row[1:4] for row in connection.execute(f"PRAGMA table_info({table})")}
        for table in tables
    }
    connection.close()
    return found


def test_format_1_is_read_whole_and_a_copy_stays(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    format_1_file(path)
    with open_site_file(path) as site_file:
        layout = read_layout(site_file)
        assert layout.modules["A"].warranty is None
        assert layout.string("CB1", "S1").modules_in_series == 24
        ((_, trace),) = read_traces(site_file)
        assert (trace.voltage[0], trace.current[0], trace.conditions.poa_global) == (3, 1, 812.5)
        assert len(list_traces(site_file)) == 1
        assert site_file.faults() == []
    copy = path.with_name("field.format-1.curvewright")
    kept = sqlite3.connect(copy)
    assert kept.execute("PRAGMA user_version").fetchone() == (1,)
    assert kept.execute("SELECT source FROM traces").fetchall() == [("a.csv",)]
    kept.close()


@pytest.mark.parametrize("version", [1, 3])
def test_a_migrated_file_has_the_same_columns_as_a_new_one(tmp_path: Path, version: int) -> None:
    old, new = tmp_path / "old.curvewright", tmp_path / "new.curvewright"
    old_file(old, version)
    open_site_file(old).close()
    create_site_file(new).close()
    assert columns(old) == columns(new)


def test_a_migrated_file_takes_new_imports(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    format_1_file(path)
    with open_site_file(path) as site_file:
        outcome = import_files(
            site_file, LAYOUT, imported(some_traces(3)), folder="f", program_version="1"
        )
        assert len(outcome.trace_ids) == 3
        assert read_layout(site_file).modules["A"].warranty == LAYOUT.modules["A"].warranty


def test_the_layout_of_a_file_of_format_3_is_whole_and_undo_leaves_it(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    old_file(path, 3)
    with open_site_file(path) as site_file:
        before = read_layout(site_file)
        assert before.string("CB1", "S1").modules_in_series == 24
        import_files(site_file, LAYOUT, imported(some_traces(3)), folder="f", program_version="1")
        assert read_layout(site_file).string("CB1", "S1").modules_in_series == 6
        undo(site_file)
        assert read_layout(site_file) == before
        assert [one.source for one in list_traces(site_file)] == ["a.csv"]


def test_a_failing_step_leaves_the_file_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = new_file(tmp_path)
    format_1_file(path)
    before = columns(path)
    broken = migrations.STEPS[1] + "ALTER TABLE no_such_table ADD COLUMN x;"
    monkeypatch.setitem(migrations.STEPS, 1, broken)
    with pytest.raises(SiteFileError, match="no such table"):
        open_site_file(path)
    assert columns(path) == before
    monkeypatch.undo()
    open_site_file(path).close()
    assert path.with_name("field.format-1-2.curvewright").exists()


def test_an_old_file_on_read_only_media_says_what_to_do(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    format_1_file(path)
    with pytest.raises(SiteFileError, match="older format 1 and is read-only; copy it"):
        open_site_file(path, read_only=True)
