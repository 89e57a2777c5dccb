"""Undoing an import gives the layout back as it was before, and redoing as it was after."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from tests.site_data.site_file.example_data import (
    FIRST_DAY,
    LAYOUT,
    THIN_FILM,
    imported,
    invented_trace,
    new_file,
    some_traces,
)
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.site_data.iv_trace import Trace
from viewer.site_data.site_file.annotations import known_string_id
from viewer.site_data.site_file.connection import SiteFile, create_site_file
from viewer.site_data.site_file.importing import ImportOutcome, import_files
from viewer.site_data.site_file.journal import operations, redo, undo
from viewer.site_data.site_file.layout_rows import read_layout
from viewer.site_data.site_file.listing import list_traces, list_visits
from viewer.site_data.site_file.stored_results import (
    KeyNumbers,
    store_results,
    traces_without_results,
)
from viewer.site_data.site_layout import Combiner, Location, SiteLayout, StringLayout

SHEET_D = replace(THIN_FILM, key="D")
OTHER = replace(
    LAYOUT,
    modules={**LAYOUT.modules, "A": replace(LAYOUT.modules["A"], i_sc=9.8), "D": SHEET_D},
    combiners=(
        Combiner("CB1", (StringLayout("S1", "D", 7), StringLayout("S2", "D", 8))),
        Combiner("CB3", (StringLayout("S1", "A", 24),)),
    ),
    location=Location(40.0, -3.0),
)
"""Changes the site, a datasheet and a string, and adds a datasheet, two strings and a combiner."""


def bring_in(
    site_file: SiteFile, layout: SiteLayout, traces: list[Trace] | None = None
) -> ImportOutcome:
    return import_files(
        site_file, layout, imported(traces or []), folder="visits", program_version="1"
    )


@pytest.fixture
def site_file(tmp_path: Path):
    with create_site_file(new_file(tmp_path)) as opened:
        bring_in(opened, LAYOUT, some_traces(6))
        yield opened


@pytest.mark.parametrize("count", [0, 3])
def test_the_layout_goes_back_and_comes_again(site_file: SiteFile, count: int) -> None:
    before = read_layout(site_file)
    later = [invented_trace(n, FIRST_DAY + timedelta(days=365), "later") for n in range(count)]
    bring_in(site_file, OTHER, later)
    after = read_layout(site_file)
    assert after.string("CB1", "S1") == StringLayout("S1", "D", 7)
    assert after.location == OTHER.location
    for _ in range(2):
        undo(site_file)
        assert read_layout(site_file) == before
        assert len(list_traces(site_file)) == 6
        assert known_string_id(site_file, "CB3", "S1") is None
        redo(site_file)
        assert read_layout(site_file) == after
        assert len(list_traces(site_file)) == 6 + count
    assert known_string_id(site_file, "CB3", "S1") is not None
    assert site_file.faults() == []


def test_of_the_first_import_only_the_site_is_left(site_file: SiteFile) -> None:
    undo(site_file)
    empty = read_layout(site_file)
    assert (empty.name, empty.modules, empty.combiners) == (LAYOUT.name, {}, ())
    redo(site_file)
    assert read_layout(site_file) == LAYOUT


def test_an_import_of_the_same_layout_alone_is_no_step(site_file: SiteFile) -> None:
    before = operations(site_file)
    assert bring_in(site_file, LAYOUT).import_id is None
    assert operations(site_file) == before


def test_what_was_undone_can_be_brought_anew_by_another_import(site_file: SiteFile) -> None:
    bring_in(site_file, OTHER)
    undo(site_file)
    box = Combiner("CB3", (StringLayout("S1", "D", 30), StringLayout("S0", "D", 31)))
    third = replace(OTHER, modules={"D": replace(SHEET_D, i_sc=2.6)}, combiners=(box,))
    bring_in(site_file, third)
    found = read_layout(site_file)
    assert found.combiners == (*LAYOUT.combiners, box)
    assert found.modules == {**LAYOUT.modules, **third.modules}
    assert redo(site_file) is None
    undo(site_file)
    assert read_layout(site_file) == LAYOUT
    redo(site_file)
    assert read_layout(site_file) == found


def test_traces_that_found_their_string_lose_it_again(site_file: SiteFile) -> None:
    stray = replace(invented_trace(50, FIRST_DAY), combiner="CB3", string="S1")
    bring_in(site_file, LAYOUT, [stray])
    bring_in(site_file, OTHER)
    place = "SELECT string_id FROM traces WHERE combiner = 'CB3'"
    with site_file.reading() as connection:
        assert connection.execute(place).fetchone() != (None,)
    undo(site_file)
    with site_file.reading() as connection:
        assert connection.execute(place).fetchone() == (None,)


def test_key_numbers_of_another_layout_are_forgotten(site_file: SiteFile) -> None:
    numbers = [
        KeyNumbers(one.id, KeyPoints(9, 700, 8.5, 600, 5100, 0.81))
        for one in list_traces(site_file)
    ]
    store_results(site_file, numbers, program_version="1")
    more = [invented_trace(60, FIRST_DAY)]
    bring_in(site_file, LAYOUT, more)
    undo(site_file)
    with site_file.reading() as connection:  # the layout is the same: they still hold
        assert traces_without_results(connection) == ()
    bring_in(site_file, OTHER)
    store_results(site_file, numbers, program_version="1")
    undo(site_file)
    with site_file.reading() as connection:
        assert traces_without_results(connection) == tuple(one.trace_id for one in numbers)
    assert all(one.p_mp != one.p_mp for one in list_traces(site_file))


def test_a_visit_that_an_undone_import_made_longer_is_as_long_as_it_was(
    site_file: SiteFile,
) -> None:
    (before,) = list_visits(site_file)
    bring_in(site_file, LAYOUT, [invented_trace(70, FIRST_DAY + timedelta(days=1))])
    (longer,) = list_visits(site_file)
    assert longer.ended_at > before.ended_at
    undo(site_file)
    assert list_visits(site_file) == [before]


def test_traces_join_no_visit_that_nobody_sees(tmp_path: Path) -> None:
    with create_site_file(new_file(tmp_path)) as site_file:
        wrong = [replace(one, source=f"wrong/{one.source}") for one in some_traces(2)]
        bring_in(site_file, LAYOUT, wrong)
        undo(site_file)
        bring_in(site_file, LAYOUT, some_traces(2, folder="right"))
        (visit,) = list_visits(site_file)
        assert (visit.name, visit.is_baseline) == ("right", True)
