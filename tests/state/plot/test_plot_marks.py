"""Marks on plots: kept with the site, changed, undone, and refused with a sentence."""

import tomllib
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from tests.site_data.site_file.example_data import LAYOUT, imported, some_traces
from viewer.reports.annotation import Annotation
from viewer.site_data.plot_marks_file import FILE_NAME
from viewer.site_data.site_file import journal
from viewer.site_data.site_file.connection import open_or_create, open_site_file
from viewer.site_data.site_file.importing import ImportedFile, import_files
from viewer.site_data.site_file.stored_visits import read_stored_visits
from viewer.state.keeping.folder_history import FolderHistory
from viewer.state.plot.plot_marks import PlotMarks
from viewer.state.program.notifier import Value

ARROW = Annotation("arrow", "iv", "measured", ((10.0, 2.0), (20.0, 4.0)), "knee")
CALLOUT = Annotation("callout", "pv", "stc", ((10.0, 2.0), (20.0, 4.0)), "here", 7)


@pytest.fixture(params=["folder", "site file"])
def place(request, tmp_path: Path) -> tuple[Path, str]:
    """What a program may have open, and a trace in it."""
    if request.param == "folder":
        return tmp_path, "visit/one.csv"
    path = tmp_path / "field.curvewright"
    with open_or_create(path) as site_file:
        import_files(site_file, LAYOUT, imported(some_traces(2)), folder="f", program_version="1")
    return path, next(iter(read_stored_visits(path).contents))


def made(message: Value[str] | None = None) -> PlotMarks:
    said = Value("") if message is None else message
    return PlotMarks(said, FolderHistory(said))


def opened(path: Path) -> PlotMarks:
    marks = made()
    marks.open(path)
    return marks


def step(marks: PlotMarks, path: Path, word: str) -> None:
    """Undo or redo where the steps of that place are kept."""
    if path.is_dir():
        getattr(marks._history, word)()
    else:
        with open_site_file(path) as site_file:
            getattr(journal, word)(site_file)
    marks.refresh()


def test_marks_are_there_again_when_the_site_is_opened_again(place):
    path, trace = place
    marks = opened(path)
    marks.add(trace, ARROW)
    number = marks.add(trace, CALLOUT)
    assert marks.chosen.value == number
    again = opened(path)
    assert [(one.trace_id, one.mark) for one in again.all] == [(trace, ARROW), (trace, CALLOUT)]


def test_every_change_is_undone_and_done_again(place):
    path, trace = place
    marks = opened(path)
    number = marks.add(trace, ARROW)
    marks.say(number, "bend")
    marks.move(number, ((1.0, 1.0), (2.0, 2.0)))
    marks.remove()
    assert marks.all == ()
    assert marks.chosen.value is None
    seen = []
    for _ in range(4):
        step(marks, path, "undo")
        seen.append([(one.mark.text, one.mark.points[0]) for one in marks.all])
    assert seen == [[("bend", (1.0, 1.0))], [("bend", (10.0, 2.0))], [("knee", (10.0, 2.0))], []]
    step(marks, path, "redo")
    assert [one.mark for one in marks.all] == [ARROW]
    step(marks, path, "redo")
    assert marks.all[0].mark.text == "bend"


def test_a_deleted_mark_leaves_none_chosen(place):
    path, trace = place
    marks = opened(path)
    for mark in (ARROW, CALLOUT, ARROW):
        marks.add(trace, mark)
    marks.remove(marks.all[1].number)
    assert marks.chosen.value is None
    assert [one.mark for one in marks.all] == [ARROW, ARROW]


def test_a_mark_goes_with_its_trace_when_a_changed_file_replaces_it(tmp_path: Path):
    path = tmp_path / "field.curvewright"
    (trace,) = some_traces(1)
    with open_or_create(path) as site_file:
        import_files(site_file, LAYOUT, imported([trace]), folder="f", program_version="1")
    opened(path).add(trace.source, ARROW)
    changed = replace(trace, note="mended", sha256="f" * 64)
    with open_or_create(path) as site_file:
        files = [ImportedFile(trace.source, b"other bytes", (changed,))]
        outcome = import_files(site_file, LAYOUT, files, folder="f", program_version="1")
    assert outcome.replaced == 1
    assert [one.trace_id for one in opened(path).all] == [trace.source]


def test_an_unknown_trace_of_a_site_file_is_refused(tmp_path: Path):
    path = tmp_path / "field.curvewright"
    with open_or_create(path) as site_file:
        import_files(site_file, LAYOUT, imported(some_traces(1)), folder="f", program_version="1")
    message = Value("")
    marks = made(message)
    marks.open(path)
    assert marks.add("gone.csv", ARROW) is None
    assert "has no trace gone.csv" in message.value


def test_marks_undone_elsewhere_are_gone_after_a_refresh(tmp_path: Path):
    path = tmp_path / "field.curvewright"
    with open_or_create(path) as site_file:
        import_files(site_file, LAYOUT, imported(some_traces(1)), folder="f", program_version="1")
    (trace,) = read_stored_visits(path).contents
    marks = opened(path)
    marks.add(trace, ARROW)
    with open_site_file(path) as site_file:
        journal.undo(site_file)
    marks.refresh()
    assert marks.all == ()
    assert marks.chosen.value is None


def test_the_folder_file_is_plain_toml_and_goes_with_its_last_mark(tmp_path: Path):
    marks = opened(tmp_path)
    marks.add("a.csv", ARROW)
    table = tomllib.loads((tmp_path / FILE_NAME).read_text())
    assert table["mark"][0]["trace"] == "a.csv"
    assert table["mark"][0]["points"] == [[10.0, 2.0], [20.0, 4.0]]
    marks.remove()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[[mark]]\nkind = 'text'", "mark 1: it does not name its trace"),
        ("not toml", "is not valid TOML"),
        ("[[mark]]\ntrace='a'\nkind='star'\npanel='iv'\nform='stc'\npoints=[]", "no mark 'star'"),
        ("[[mark]]\ntrace='a'\nkind='text'\npanel='iv'\nform='stc'\npoints=[1]", "not complete"),
        ("[[mark]]\ntrace='a'\nkind='text'\npanel='iv'\nform='stc'\npoints=[[nan,1]]", "not a num"),
    ],
)
def test_a_bad_file_of_marks_is_said_and_nothing_else_is_lost(tmp_path: Path, text, words):
    (tmp_path / FILE_NAME).write_text(text)
    message = Value("")
    marks = made(message)
    marks.open(tmp_path)
    assert words in message.value
    assert marks.all == ()
    assert (tmp_path / FILE_NAME).read_text() == text


def test_a_moved_mark_may_not_lose_its_place(tmp_path: Path):
    marks = opened(tmp_path)
    number = marks.add("a.csv", ARROW)
    marks.move(number, ((float("nan"), 1.0), (2.0, 2.0)))
    assert marks.all[0].mark == ARROW


def test_traces_of_one_source_keep_their_marks_apart(tmp_path: Path):
    path = tmp_path / "field.curvewright"
    (first,) = some_traces(1)
    second = replace(first, measured_at=datetime(2031, 6, 1, 12), sha256="e" * 64)
    with open_or_create(path) as site_file:
        for folder, trace in (("a", first), ("b", second)):
            files = [ImportedFile(trace.source, folder.encode(), (trace,))]
            import_files(site_file, LAYOUT, files, folder=folder, program_version="1")
    sources = list(read_stored_visits(path).contents)
    assert len(sources) == 2
    marks = opened(path)
    for source in sources:
        assert marks.add(source, ARROW) is not None
    assert [one.trace_id for one in opened(path).all] == sources
