"""Every edit can be undone and done again, over closing the file and beside other windows."""

from datetime import date
from pathlib import Path

import pytest

from tests.site_data.site_file.example_data import LAYOUT, imported, new_file, some_traces
from viewer.site_data.pictures import NewPicture
from viewer.site_data.site_file.annotations import (
    About,
    Repair,
    add_finding,
    add_module,
    add_note,
    add_repair,
    close_finding,
    read_repairs,
    read_settings,
    string_id,
    write_settings,
)
from viewer.site_data.site_file.connection import SiteFile, create_site_file, open_site_file
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.importing import import_files
from viewer.site_data.site_file.journal import (
    RowChange,
    change,
    change_row,
    one_step,
    operations,
    redo,
    remove_row,
    undo,
)
from viewer.site_data.site_file.pictures import attach_pictures
from viewer.site_data.site_file.stored_bytes import read_bytes


@pytest.fixture
def site_file(tmp_path: Path):
    with create_site_file(new_file(tmp_path)) as opened:
        import_files(opened, LAYOUT, imported(some_traces(4)), folder="visits", program_version="1")
        yield opened


def rows(site_file: SiteFile, table: str, columns: str = "*") -> list[tuple]:
    with site_file.reading() as connection:
        return connection.execute(f"SELECT {columns} FROM {table} ORDER BY id").fetchall()


def test_undo_and_redo_walk_through_all_edits(site_file: SiteFile) -> None:
    add_note(site_file, About(trace_id=1), "Cloud at the end", "A. B.")
    finding = add_finding(site_file, About(string_id=1), "Diode to be changed", "bypass_short")
    close_finding(site_file, finding)
    states = [rows(site_file, "notes"), rows(site_file, "findings", "status")]
    assert [undo(site_file) for _ in range(3)] == ["Close finding", "Finding", "Note"]
    assert rows(site_file, "notes") == rows(site_file, "findings") == []
    assert [redo(site_file) for _ in range(4)] == ["Note", "Finding", "Close finding", None]
    assert [rows(site_file, "notes"), rows(site_file, "findings", "status")] == states


def test_undo_survives_closing(site_file: SiteFile, tmp_path: Path) -> None:
    add_note(site_file, About(), "Gate code changed")
    site_file.close()
    with open_site_file(new_file(tmp_path)) as again:
        assert undo(again) == "Note"
        assert rows(again, "notes") == []


def test_a_new_edit_after_undo_drops_what_could_be_redone(site_file: SiteFile) -> None:
    first = add_note(site_file, About(), "one")
    undo(site_file)
    second = add_note(site_file, About(), "two")
    assert redo(site_file) is None
    assert second != first
    assert [one.state for one in operations(site_file)] == ["done", "dropped", "done"]


def test_removing_is_undone_whole(site_file: SiteFile) -> None:
    add_repair(site_file, Repair("CB1", "S1", date(2023, 4, 5), "Connector changed"))
    before = rows(site_file, "repairs")
    remove_row(site_file, "Remove repair", "repairs", 1)
    assert rows(site_file, "repairs") == []
    undo(site_file)
    assert rows(site_file, "repairs") == before
    assert read_repairs(site_file) == [Repair("CB1", "S1", date(2023, 4, 5), "Connector changed")]


def test_undo_refuses_to_overwrite_another_windows_change(site_file: SiteFile) -> None:
    change_row(site_file, "Visit note", "visits", 1, {"note": "mine"})
    with site_file.writing() as connection:
        connection.execute("UPDATE visits SET note = 'theirs'")
    with pytest.raises(SiteFileError, match="changed since, perhaps in another window"):
        undo(site_file)
    assert rows(site_file, "visits", "note") == [("theirs",)]


def test_a_group_of_changes_is_one_step(site_file: SiteFile) -> None:
    both = [
        RowChange("visits", 1, {"note": None, "is_baseline": 1}, {"note": "n", "is_baseline": 0}),
        RowChange("traces", 2, {"note": None}, {"note": "checked"}),
    ]
    with pytest.raises(SiteFileError):  # the second does not fit, so the first is not made either
        change(site_file, "Two things", [both[0], RowChange("traces", 2, {"note": "no"}, None)])
    assert rows(site_file, "visits", "is_baseline") == [(1,)]
    second = rows(site_file, "traces", "note")[1][0]
    change(
        site_file, "Two things", [both[0], RowChange("traces", 2, {"note": second}, {"note": "x"})]
    )
    undo(site_file)
    assert rows(site_file, "visits", "is_baseline") == [(1,)]
    assert rows(site_file, "traces", "note")[1] == (second,)


def test_what_is_done_inside_one_step_goes_back_at_once(site_file: SiteFile) -> None:
    before = len(operations(site_file))
    with one_step(site_file, "Finding on A"):
        write_settings(site_file, {"a": 1})
        number = add_finding(site_file, About(), "dead cell")
        close_finding(site_file, number)
    assert [one.label for one in operations(site_file)[before:]] == ["Finding on A"]
    assert rows(site_file, "findings", "status") == [("closed",)]
    assert undo(site_file) == "Finding on A"
    assert rows(site_file, "findings") == []
    assert read_settings(site_file) == {}
    assert redo(site_file) == "Finding on A"
    assert rows(site_file, "findings", "id, status") == [(number, "closed")]


def test_one_step_is_stored_whole_or_not_at_all(site_file: SiteFile) -> None:
    before = operations(site_file)

    def note_and_fail() -> None:
        with one_step(site_file, "Finding"):
            add_note(site_file, About(), "loose clamp")
            close_finding(site_file, 999)

    with pytest.raises(SiteFileError, match="no finding"):
        note_and_fail()
    assert operations(site_file) == before
    assert rows(site_file, "notes") == []


def test_one_step_without_changes_leaves_no_entry(site_file: SiteFile) -> None:
    before = operations(site_file)
    with one_step(site_file, "Nothing"):
        pass
    assert operations(site_file) == before


def test_measured_data_are_out_of_reach(site_file: SiteFile) -> None:
    with pytest.raises(ValueError, match="does not change trace_points"):
        change(site_file, "no", [RowChange("trace_points", 1, {"point_count": 40}, None)])


def test_picture_bytes_stay_when_the_entry_is_undone(site_file: SiteFile) -> None:
    content = b"\x89PNG not really"
    new = NewPicture("ir_1.png", content, kind="infrared", caption="hot cell")
    attach_pictures(site_file, About(string_id=1), [new], "Picture ir_1.png")
    ((digest,),) = rows(site_file, "pictures", "file_sha256")
    undo(site_file)
    assert rows(site_file, "pictures") == []
    assert read_bytes(site_file, digest) == content


def test_settings_keep_their_kind(site_file: SiteFile) -> None:
    write_settings(site_file, {"limit": 0.95, "procedure": "2", "shown": [1, None]})
    write_settings(site_file, {"limit": 0.9})
    assert read_settings(site_file) == {"limit": 0.9, "procedure": "2", "shown": [1, None]}
    undo(site_file)
    assert read_settings(site_file)["limit"] == 0.95


def test_modules_by_serial(site_file: SiteFile) -> None:
    add_module(site_file, "SN-77", "CB1", "S1", 3)
    assert rows(site_file, "modules", "serial, position, string_id") == [
        ("SN-77", 3, string_id(site_file, "CB1", "S1"))
    ]


def test_an_unknown_string_is_named(site_file: SiteFile) -> None:
    with pytest.raises(SiteFileError, match="no string CB9 / S1"):
        add_repair(site_file, Repair("CB9", "S1", date(2023, 4, 5), "?"))
