"""A site file in the session: listed at once, notes with undo, and what cannot be opened."""

import gc
import os
import shutil
import sqlite3
from datetime import date
from pathlib import Path

import pytest

from tests.app.invented_site import write_site
from viewer.reports.annotation import Annotation
from viewer.site_data.site_file import plot_marks
from viewer.site_data.site_file.connection import open_site_file
from viewer.site_data.site_file.journal import undo
from viewer.site_data.site_file.listing import list_traces
from viewer.site_data.site_file.migrations import SCHEMA_VERSION
from viewer.site_data.site_file.stored_results import traces_without_results
from viewer.state import visit_opening
from viewer.state.keeping.mark_store import SiteFileMarks
from viewer.state.keeping.site_import import import_steps
from viewer.state.keeping.site_notes import NEEDS_SITE_FILE, NewEntry, about_string
from viewer.state.program.settings import Settings
from viewer.state.session import Arrival, Session
from viewer.state.strings.listed_traces import listed_row, stored_listing
from viewer.state.visit_opening import open_site
from viewer.state.years.kept_choices import choose_baseline


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return write_site(tmp_path_factory.mktemp("site") / "visits", strings=2, years=(2020, 2022))


@pytest.fixture(scope="module")
def made(folder, tmp_path_factory) -> bytes:
    path = tmp_path_factory.mktemp("made") / "field.curvewright"
    for _ in import_steps(folder, path):
        pass
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    return path.read_bytes()


@pytest.fixture
def site_file(made, tmp_path) -> Path:
    path = tmp_path / "field.curvewright"
    path.write_bytes(made)
    return path


@pytest.fixture
def session(site_file) -> Session:
    opened = Session(open_site)
    opened.open(site_file)
    return opened


def entry(kind: str, text: str = "hot connector", **more) -> NewEntry:
    return NewEntry(kind, "CB1", "S1", text, **more)


def test_the_list_comes_before_any_result(site_file):
    steps = open_site(site_file)
    _, arrival = next(steps)
    assert len(arrival.listing.traces) == 8
    session = Session(open_site)
    session.take([arrival])
    assert len(list(session.rows)) == 8
    assert session.results == ()
    assert session.choices.visit.value == session.visits[-1].name
    assert session.current is None
    steps.close()


def test_listed_rows_agree_with_the_results_that_follow(site_file, session):
    listing = stored_listing(site_file).listing
    assert {one.source for one in listing.traces} == {one.trace.source for one in session.results}
    for one in listing.traces:
        row, result = listed_row(one, Settings()), session.row(one.source)
        assert row.power_ratio == pytest.approx(result.power_ratio)
        assert (row.combiner, row.string, row.day) == (
            result.combiner,
            result.string,
            result.day,
        )


def test_after_loading_only_results_are_listed(session):
    assert {row.trace_id for row in session.rows} == {one.trace.source for one in session.results}


def test_notes_are_kept_undone_and_done_again(session):
    session.notes.add(entry("note"))
    assert session.message.value == "Note on CB1 / S1 stored."
    mine = about_string(session.notes.kept, "CB1", "S1", ())
    assert [(one.kind, one.text) for one in mine] == [("note", "hot connector")]
    assert about_string(session.notes.kept, "CB1", "S2", ()) == ()
    assert session.notes.kept.undo == "Note"
    session.notes.undo()
    assert about_string(session.notes.kept, "CB1", "S1", ()) == ()
    assert session.notes.kept.redo == "Note"
    session.notes.redo()
    assert len(about_string(session.notes.kept, "CB1", "S1", ())) == 1


def test_a_finding_stays_open_until_closed(session):
    session.notes.add(entry("finding", cause="soiling"))
    one = session.notes.kept.annotations[-1]
    assert (one.kind, one.state) == ("finding", "open")
    session.notes.close_finding(one.number)
    assert session.notes.kept.annotations[-1].state == "closed"


def test_a_repair_is_known_to_the_rates_and_undo_takes_it_back(session):
    session.years.ensure()
    assert len(session.years.found.trend.strings) == 4
    session.notes.add(entry("repair", done_on=date(2021, 5, 1)))
    assert [one.text for one in session.repairs] == ["hot connector"]
    session.years.ensure()
    assert session.years.found.trend.repaired_without_rate == (("CB1", "S1"),)
    session.notes.undo()
    session.years.ensure()
    assert len(session.years.found.trend.strings) == 4


def test_undoing_an_import_opens_the_file_anew(session):
    assert len(session.results) == 8
    session.notes.undo()
    assert session.results == ()
    session.notes.redo()
    assert len(session.results) == 8


def test_undoing_an_import_that_changed_the_layout_computes_with_the_one_before(
    folder, site_file, session, tmp_path
):
    def ratios():
        with open_site_file(site_file) as file:
            kept = {one.source: one.power_ratio for one in list_traces(file)}
        shown = {one.trace.source: one.power_ratio for one in session.results}
        assert kept == pytest.approx(shown)
        return shown

    before = ratios()
    other = shutil.copytree(folder, tmp_path / "visits")
    described = (other / "site.toml").read_text("utf-8")
    (other / "site.toml").write_text(described.replace("i_sc = 9.5", "i_sc = 9.8"), "utf-8")
    session.notes.import_folder(other, site_file)
    after = ratios()
    assert all(after[source] != pytest.approx(ratio) for source, ratio in before.items())
    session.undo()
    assert session.layout.modules["A"].i_sc == 9.5
    assert session.message.value.startswith(
        f"Taken back: Import of {other}. The layout is again as it was before it."
    )
    assert ratios() == pytest.approx(before)
    session.redo()
    assert session.layout.modules["A"].i_sc == 9.8
    assert ratios() == pytest.approx(after)


def test_a_site_file_whose_only_import_is_undone_stays_open(site_file, session):
    session.undo()
    assert session.notes.path == site_file
    assert session.layout.combiners == ()
    session.redo()
    assert len(session.layout.combiners) == 2


def test_numbers_computed_with_a_layout_that_was_undone_meanwhile_are_not_kept(
    folder, site_file, tmp_path
):
    other = shutil.copytree(folder, tmp_path / "visits")
    described = (other / "site.toml").read_text("utf-8")
    (other / "site.toml").write_text(described.replace("i_sc = 9.5", "i_sc = 9.8"), "utf-8")
    undone = False
    for step in import_steps(other, site_file):
        if step.progress.text == "comparing" and not undone:
            with open_site_file(site_file) as file:
                undone = undo(file) is not None
    assert undone
    with open_site_file(site_file) as file, file.reading() as connection:
        assert len(traces_without_results(connection)) == 8


def test_the_baseline_marked_in_the_file_is_the_one_compared_with(session, site_file):
    session.years.ensure()
    assert session.years.baseline_name() == session.visits[0].name
    with open_site_file(site_file) as file:
        choose_baseline(file, session.visits[1].name)
    session.notes.renew()
    assert session.years.baseline_name() == session.visits[1].name
    session.undo()
    assert session.years.baseline_name() == session.visits[0].name


def test_a_folder_says_that_it_needs_a_site_file(folder):
    session = Session(open_site)
    session.open(folder)
    session.notes.add(entry("note"))
    assert session.message.value == NEEDS_SITE_FILE


def test_a_folder_is_saved_as_a_site_file_and_opened(folder, tmp_path):
    session = Session(open_site)
    session.open(folder)
    target = tmp_path / "new.curvewright"
    session.notes.import_folder(folder, target)
    assert session.folder == target
    assert session.notes.path == target
    assert len(session.results) == 8


def test_a_newer_file_gives_its_sentence(site_file):
    connection = sqlite3.connect(site_file)
    connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION + 1}")
    connection.close()
    session = Session(open_site)
    session.open(site_file)
    assert "newer Curvewright" in session.message.value
    assert session.notes.path is None


def test_a_file_that_is_none_gives_its_sentence(tmp_path):
    path = tmp_path / "other.curvewright"
    path.write_text("not a database at all, but long enough to look at" * 5)
    session = Session(open_site)
    session.open(path)
    assert "not a site file" in session.message.value


def test_a_read_only_file_opens_and_refuses_notes_in_a_sentence(site_file, monkeypatch):
    def only_read(path):
        return open_site_file(path, read_only=True)

    monkeypatch.setattr("viewer.state.keeping.site_notes.open_site_file", only_read)
    session = Session(open_site)
    session.open(site_file)
    assert session.notes.kept.read_only
    assert session.notes.kept.undo is None
    session.notes.add(entry("note"))
    assert "read-only" in session.message.value
    assert session.notes.kept.annotations == ()


def test_a_file_held_by_another_program_is_told(session, site_file, monkeypatch):
    monkeypatch.setattr("viewer.site_data.site_file.connection.WAIT_FOR_OTHERS", 0.05)
    other = sqlite3.connect(site_file, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        session.notes.add(entry("note"))
        assert "another program is writing" in session.message.value
    finally:
        other.execute("ROLLBACK")
        other.close()
    session.notes.add(entry("note"))
    assert "stored" in session.message.value


def test_a_file_that_vanished_is_told(session, site_file):
    for name in (site_file, *site_file.parent.glob("field.curvewright-*")):
        os.remove(name)
    session.notes.undo()
    assert "no such file" in session.message.value


def test_a_mark_is_the_step_that_undo_takes_back_next(session):
    session.notes.add(entry("note"))
    mark = Annotation("arrow", "iv", "measured", ((10.0, 2.0), (20.0, 4.0)), "knee")
    session.marks.add(session.results[0].trace.source, mark)
    assert session.undo_label == "Plot mark: add arrow"
    session.undo()
    assert session.marks.all == ()
    assert (session.undo_label, session.redo_label) == ("Note", "Plot mark: add arrow")
    session.redo()
    assert [one.mark for one in session.marks.all] == [mark]


def test_when_all_that_was_listed_has_come_nothing_is_made_anew(site_file):
    session = Session(open_site)
    heard = Heard()
    session.arrived.connect(heard.hear)
    session.open(site_file)
    assert heard.news[-1].results
    assert len(session.visits) == 2


class Heard:
    def __init__(self) -> None:
        self.news: list[Arrival] = []

    def hear(self, arrival: Arrival) -> None:
        self.news.append(arrival)


def test_a_site_file_without_marks_is_not_gone_through_for_them(site_file, monkeypatch):
    def gone_through(_):
        raise AssertionError("all traces were read")

    monkeypatch.setattr(plot_marks, "trace_numbers", gone_through)
    assert SiteFileMarks(site_file).read() == []


def test_nothing_is_searched_for_while_many_traces_are_read(site_file, monkeypatch):
    searching: list[bool] = []
    listed, opened = visit_opening.listing_arrival, visit_opening.open_source

    def list_there(path):
        searching.append(gc.isenabled())
        return listed(path)

    def open_there(*given):
        searching.append(gc.isenabled())
        return opened(*given)

    monkeypatch.setattr(visit_opening, "listing_arrival", list_there)
    monkeypatch.setattr(visit_opening, "open_source", open_there)
    assert len(list(open_site(site_file))) > 2
    assert searching == [False, False]
    assert gc.isenabled()
