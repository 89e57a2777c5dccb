"""Notes and repairs of the current string, in a real site file."""

from datetime import date

import pytest
from PySide6.QtCore import QDate, Qt

from tests.app.invented_site import write_site
from viewer.state.keeping.site_import import import_steps
from viewer.state.keeping.site_notes import NEEDS_SITE_FILE
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.state.visit_opening import listing_arrival, open_site
from viewer.widgets.controls.theme import Look
from viewer.widgets.strings.key_point_pane import KeyPointPane
from viewer.widgets.strings.notes_pane import NotesPane


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return write_site(tmp_path_factory.mktemp("site") / "visits", strings=1, years=(2020, 2022))


@pytest.fixture
def session(qapp, folder, tmp_path):
    path = tmp_path / "field.curvewright"
    for _ in import_steps(folder, path):
        pass
    opened = Session(open_site, Settings(theme="light"))
    opened.open(path)
    opened.selection.choose(["2022/CB1/S1.csv"])
    return opened


@pytest.fixture
def pane(shown, session):
    return shown(NotesPane(session, Look(session.settings)), 900, 300)


def cells(pane):
    table = pane.table
    return [
        [table.item(row, column).text() for column in range(table.columnCount())]
        for row in range(table.rowCount())
    ]


def test_a_note_is_stored_by_the_return_key(pane, session, qtbot):
    pane.text.setText("label missing")
    qtbot.keyClick(pane.text, Qt.Key.Key_Return)
    assert [row[1:4] for row in cells(pane)] == [["note", "CB1/S1", "label missing"]]
    assert pane.text.text() == ""


def test_an_empty_text_is_not_stored(pane, session):
    pane.text.setText("   ")
    pane.store()
    assert cells(pane) == []


def test_a_repair_carries_its_day(pane, session):
    pane.kind.setCurrentIndex(pane.kind.findData("repair"))
    assert pane.day.isVisible()
    pane.day.setDate(QDate(2021, 5, 1))
    pane.text.setText("connector replaced")
    pane.store()
    assert session.repairs[0].repaired_on == date(2021, 5, 1)


def test_a_finding_is_closed_by_its_button(pane, qtbot):
    pane.kind.setCurrentIndex(pane.kind.findData("finding"))
    pane.text.setText("hot spot")
    pane.store()
    assert not pane.close_it.isEnabled()
    pane.table.selectRow(0)
    qtbot.mouseClick(pane.close_it, Qt.MouseButton.LeftButton)
    assert cells(pane)[0][4] == "closed"


def test_undo_and_redo(pane, qtbot):
    pane.text.setText("label missing")
    pane.store()
    qtbot.mouseClick(pane.undo, Qt.MouseButton.LeftButton)
    assert cells(pane) == []
    qtbot.mouseClick(pane.redo, Qt.MouseButton.LeftButton)
    assert len(cells(pane)) == 1


def test_another_string_has_its_own_notes_and_the_site_all(pane, session):
    pane.text.setText("label missing")
    pane.store()
    session.selection.choose(["2022/CB2/S1.csv"])
    assert cells(pane) == []
    pane.which.setCurrentIndex(1)
    pane.refill()
    assert len(cells(pane)) == 1


def test_a_folder_says_what_it_needs(shown, qapp, folder):
    session = Session(open_site, Settings(theme="light"))
    session.open(folder)
    pane = shown(NotesPane(session, Look(session.settings)), 900, 300)
    assert pane.title.text() == NEEDS_SITE_FILE
    assert not pane.add.isEnabled()


def test_a_listed_string_without_its_curve_yet_is_told(shown, qapp, folder, tmp_path):
    path = tmp_path / "listed.curvewright"
    for _ in import_steps(folder, path):
        pass
    session = Session(open_site, Settings(theme="light"))
    pane = shown(KeyPointPane(session, Look(session.settings)), 900, 300)
    assert pane.title.text() == "No string selected"
    session.take([listing_arrival(path)])
    session.selection.choose([next(iter(session.rows)).trace_id])
    assert pane.title.text() == "Its curve is still being read"
