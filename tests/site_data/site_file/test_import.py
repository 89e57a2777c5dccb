"""What is imported comes back equal, and an import is all or nothing."""

import hashlib
from dataclasses import fields, replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from tests.site_data.site_file.example_data import (
    FIRST_DAY,
    LAYOUT,
    imported,
    invented_trace,
    new_file,
    some_traces,
)
from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.site_data.site_file.annotation_listing import list_annotations
from viewer.site_data.site_file.annotations import About, add_note
from viewer.site_data.site_file.connection import SiteFile, create_site_file, open_site_file
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.importing import ImportedFile, ImportOutcome, import_files
from viewer.site_data.site_file.journal import operations, redo, undo
from viewer.site_data.site_file.layout_rows import read_layout
from viewer.site_data.site_file.listing import list_traces, list_visits
from viewer.site_data.site_file.stored_bytes import read_bytes
from viewer.site_data.site_file.trace_rows import read_traces, read_unreadable
from viewer.site_data.site_layout import Combiner, StringLayout


def bring_in(site_file: SiteFile, files: list[ImportedFile], layout=LAYOUT) -> ImportOutcome:
    return import_files(site_file, layout, files, folder="visits", program_version="1")


def assert_same_trace(one: Trace, other: Trace) -> None:
    for field in fields(Trace):
        first, second = getattr(one, field.name), getattr(other, field.name)
        if isinstance(first, np.ndarray):
            np.testing.assert_array_equal(first, second)
            assert first.dtype == second.dtype
        else:
            assert first == second, field.name


@pytest.fixture
def site_file(tmp_path: Path):
    with create_site_file(new_file(tmp_path)) as opened:
        yield opened


def test_layout_and_traces_come_back_equal(site_file: SiteFile, tmp_path: Path) -> None:
    traces = some_traces(12)
    outcome = bring_in(site_file, imported(traces))
    site_file.close()
    with open_site_file(new_file(tmp_path)) as again:
        assert read_layout(again) == LAYOUT
        back = dict(read_traces(again))
        assert tuple(back) == outcome.trace_ids
        for trace, stored in zip(traces, back.values(), strict=True):
            assert_same_trace(trace, stored)
        assert again.faults() == []


def test_a_layout_without_place_and_mounting_comes_back_equal(site_file: SiteFile) -> None:
    bare = replace(LAYOUT, location=None, mounting=None)
    bring_in(site_file, [], bare)
    assert read_layout(site_file) == bare


def test_trace_with_nothing_but_points(site_file: SiteFile) -> None:
    bare = Trace("bare.csv", np.array([0.0, np.nan, 5e-324]), np.array([1.0, -0.0, 1e308]))
    bring_in(site_file, imported([bare]))
    ((_, stored),) = read_traces(site_file)
    assert_same_trace(bare, stored)
    assert np.signbit(stored.current[1])


def test_imported_bytes_are_kept_with_their_digest(site_file: SiteFile) -> None:
    content = bytes(range(256)) * 50
    trace = invented_trace(1, FIRST_DAY)
    bring_in(site_file, [ImportedFile(trace.source, content, (trace,))])
    with site_file.reading() as connection:
        (digest,) = connection.execute("SELECT file_sha256 FROM traces").fetchone()
    assert digest == hashlib.sha256(content).hexdigest()
    assert read_bytes(site_file, digest) == content


def test_unreadable_files_are_kept_and_listed(site_file: SiteFile) -> None:
    failure = Unreadable("broken.csv", "It has no points.")
    files = [ImportedFile("broken.csv", b"what", failures=(failure,))]
    assert bring_in(site_file, files).unread == 1
    assert bring_in(site_file, files).unread == 1
    assert read_unreadable(site_file) == [failure]
    with site_file.reading() as connection:
        assert connection.execute("SELECT count(*) FROM unread_files").fetchone() == (1,)


def test_a_file_of_several_traces_and_a_part_that_cannot_be_read(site_file: SiteFile) -> None:
    traces = tuple(replace(one, source=f"book.xlsx#{n}") for n, one in enumerate(some_traces(3)))
    failure = Unreadable("book.xlsx#3", "The sheet is empty.")
    bring_in(site_file, [ImportedFile("book.xlsx", b"book", traces, (failure,))])
    assert [trace.source for _, trace in read_traces(site_file)] == [t.source for t in traces]
    assert read_unreadable(site_file) == [failure]


def test_a_file_mended_since_is_no_longer_unreadable(site_file: SiteFile) -> None:
    failure = Unreadable("book.xlsx", "It is locked.")
    bring_in(site_file, [ImportedFile("book.xlsx", b"locked", failures=(failure,))])
    trace = replace(invented_trace(1, FIRST_DAY), source="book.xlsx#a")
    bring_in(site_file, [ImportedFile("book.xlsx", b"open", (trace,))])
    assert read_unreadable(site_file) == []


def test_an_error_half_way_leaves_nothing(site_file: SiteFile) -> None:
    def cancelled():
        yield from imported(some_traces(5))
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        import_files(site_file, LAYOUT, cancelled(), folder="f", program_version="1")
    with site_file.reading() as connection:
        for table in ("sites", "imports", "traces", "stored_files", "journal", "visits"):
            assert connection.execute(f"SELECT count(*) FROM {table}").fetchone() == (0,), table


def test_the_same_folder_again_adds_nothing(site_file: SiteFile) -> None:
    files = imported(some_traces(6))
    bring_in(site_file, files)
    again = bring_in(site_file, files)
    assert (again.trace_ids, again.known_before) == ((), 6)
    assert len(list_traces(site_file)) == 6


def test_an_import_of_nothing_new_is_no_step(site_file: SiteFile) -> None:
    """It stood in the history, and undo took back nothing; what had been undone was lost to it."""
    failure = Unreadable("broken.csv", "It has no points.")
    broken = ImportedFile("broken.csv", b"what", failures=(failure,))
    files = [*imported(some_traces(3)), broken]
    bring_in(site_file, files)
    number = add_note(site_file, About(), "to be taken back")
    undo(site_file)
    before = operations(site_file)
    again = bring_in(site_file, files)
    assert (again.import_id, again.known_before, again.unread) == (None, 3, 1)
    assert operations(site_file) == before
    assert redo(site_file) is not None
    assert [one.number for one in list_annotations(site_file)] == [number]
    with site_file.reading() as connection:
        assert connection.execute("SELECT count(*) FROM imports").fetchone() == (1,)
    other = Unreadable("other.csv", "It has no points.")
    bring_in(site_file, [*files, ImportedFile("other.csv", b"too", failures=(other,))])
    assert undo(site_file) == "Import of visits"
    assert read_unreadable(site_file) == [failure]


def test_a_changed_file_replaces_what_is_shown_and_keeps_the_old(site_file: SiteFile) -> None:
    trace = invented_trace(1, FIRST_DAY)
    bring_in(site_file, imported([trace]))
    corrected = replace(trace, note="irradiance corrected")
    again = bring_in(site_file, [ImportedFile(trace.source, b"other bytes", (corrected,))])
    assert again.replaced == 1
    assert [one.note for one in list_traces(site_file)] == ["irradiance corrected"]
    assert undo(site_file) == "Import of visits"
    assert [one.note for one in list_traces(site_file)] == ["after cleaning"]
    redo(site_file)
    assert [one.note for one in list_traces(site_file)] == ["irradiance corrected"]


def test_the_same_name_in_next_years_folder_is_another_trace(site_file: SiteFile) -> None:
    trace = invented_trace(1, FIRST_DAY)
    later = replace(trace, measured_at=FIRST_DAY + timedelta(days=365))
    bring_in(site_file, imported([trace]))
    files = [ImportedFile(later.source, b"next year", (later,))]
    outcome = import_files(site_file, LAYOUT, files, folder="other", program_version="1")
    assert (outcome.replaced, len(list_traces(site_file))) == (0, 2)


def test_a_renamed_folder_brings_nothing_twice(site_file: SiteFile) -> None:
    files = imported(some_traces(5))
    bring_in(site_file, files)
    renamed = [replace(one, source=f"sorted/{one.source}") for one in files]
    outcome = import_files(site_file, LAYOUT, renamed, folder="other", program_version="1")
    assert (outcome.known_before, len(list_traces(site_file))) == (5, 5)


def test_undone_import_is_hidden_and_can_be_made_anew(site_file: SiteFile) -> None:
    files = imported(some_traces(4))
    bring_in(site_file, files)
    undo(site_file)
    assert list_traces(site_file) == []
    assert list_visits(site_file) == []
    assert len(bring_in(site_file, files).trace_ids) == 4
    assert redo(site_file) is None
    assert len(list_traces(site_file)) == 4


def test_visits_are_told_apart_by_time_and_the_first_is_the_baseline(site_file: SiteFile) -> None:
    later = [invented_trace(n, FIRST_DAY + timedelta(days=365), "second") for n in range(3)]
    bring_in(site_file, imported([*later, *some_traces(4)]))
    first, second = list_visits(site_file)
    assert (first.name, first.is_baseline, first.trace_count) == ("first", True, 4)
    assert (second.name, second.is_baseline, second.trace_count) == ("second", False, 3)


def test_a_later_import_joins_the_visit_it_belongs_to(site_file: SiteFile) -> None:
    bring_in(site_file, imported(some_traces(4)))
    next_day = [invented_trace(n, FIRST_DAY + timedelta(days=1)) for n in range(10, 13)]
    bring_in(site_file, imported(next_day))
    (visit,) = list_visits(site_file)
    assert visit.trace_count == 7
    assert visit.ended_at == FIRST_DAY + timedelta(days=1, minutes=12)


def test_undated_traces_make_a_visit_of_their_own(site_file: SiteFile) -> None:
    undated = replace(invented_trace(1, FIRST_DAY), measured_at=None, source="undated.csv")
    bring_in(site_file, imported([undated, *some_traces(2)]))
    assert [(v.name, v.is_baseline) for v in list_visits(site_file)] == [
        ("first", True),
        ("no date", False),
    ]


def test_changed_and_new_parts_of_the_layout_are_said(site_file: SiteFile) -> None:
    bring_in(site_file, imported(some_traces(2)))
    changed = replace(
        LAYOUT,
        combiners=(
            Combiner("CB1", (StringLayout("S1", "B", 7),)),
            Combiner("CB3", (StringLayout("S1", "A", 24),)),
        ),
    )
    outcome = bring_in(site_file, [], changed)
    assert outcome.layout_changes == ("string CB1 / S1: modules_in_series changed from 6 to 7",)
    assert outcome.to_analyse == tuple(one.id for one in list_traces(site_file))
    layout = read_layout(site_file)
    assert [box.name for box in layout.combiners] == ["CB2", "CB1", "CB3"]
    assert layout.string("CB1", "S1") == StringLayout("S1", "B", 7)


def test_strings_described_later_are_found_for_earlier_traces(site_file: SiteFile) -> None:
    traces = some_traces(4, first=1)  # of which CB1 / S1 is one, and all are in the layout
    bring_in(site_file, imported(traces), replace(LAYOUT, combiners=()))
    with site_file.reading() as connection:
        assert connection.execute("SELECT count(string_id) FROM traces").fetchone() == (0,)
    assert len(bring_in(site_file, []).to_analyse) == 4
    with site_file.reading() as connection:
        found = connection.execute(
            "SELECT combiners.name, strings.name FROM traces JOIN strings ON strings.id = "
            "string_id JOIN combiners ON combiners.id = combiner_id ORDER BY traces.id"
        ).fetchall()
    assert found == [(trace.combiner, trace.string) for trace in traces]


def test_another_site_is_refused(site_file: SiteFile) -> None:
    bring_in(site_file, imported(some_traces(1)))
    with pytest.raises(SiteFileError, match="holds the site “Invented field”"):
        bring_in(site_file, [], replace(LAYOUT, name="Other"))
