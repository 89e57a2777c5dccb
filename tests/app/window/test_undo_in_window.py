"""The menu says what undo would take back, for a folder as for a site file."""

import pytest

from tests.invented_results import InventedOpener, invented_visits
from viewer.app.window.main_window import MainWindow
from viewer.reports.annotation import Annotation
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.widgets.controls.theme import Look

ARROW = Annotation("arrow", "iv", "measured", ((10.0, 2.0), (20.0, 4.0)), "knee")
TRACE = "2025/C1/S2.csv"


@pytest.fixture
def window(shown, qapp, tmp_path):
    session = Session(InventedOpener(invented_visits()), Settings(theme="light"))
    session.open(tmp_path)
    return shown(MainWindow(session, Look(session.settings)), 1280, 720)


def test_the_menu_names_the_step_of_a_folder(window):
    undo, redo = (window.actions_by_id.qt[name] for name in ("undo", "redo"))
    assert (undo.text(), undo.isEnabled()) == ("Undo", False)
    window.session.marks.add(TRACE, ARROW)
    assert (undo.text(), undo.isEnabled()) == ("Undo: Plot mark: add arrow", True)
    undo.trigger()
    assert window.session.marks.all == ()
    assert (undo.text(), undo.isEnabled()) == ("Undo", False)
    assert (redo.text(), redo.isEnabled()) == ("Redo: Plot mark: add arrow", True)
    redo.trigger()
    assert [one.mark for one in window.session.marks.all] == [ARROW]


def test_the_buttons_of_the_plot_and_of_the_notes_do_the_same(window):
    marks, notes = window.plot.mark_row, window.pane("notes")
    assert not marks.undo.isEnabled()
    window.session.years.baseline.value = "2025-06-05"
    for button in (marks.undo, notes.undo):
        assert button.isEnabled()
        assert button.toolTip() == "Take back: Baseline visit"
    notes.undo.click()
    assert window.session.years.baseline.value is None
    assert marks.redo.toolTip() == "Do again: Baseline visit"
    marks.redo.click()
    assert window.session.years.baseline.value == "2025-06-05"
