from PySide6.QtWidgets import QPushButton, QToolBar

from viewer.app.window.pane_docks import LAYOUT_VERSION
from viewer.state.session import Arrival


def docks_shown(window):
    return {name for name, dock in window.docks.by_id.items() if not dock.isHidden()}


def test_the_lesson_takes_the_middle_and_gives_the_panes_back(window, qtbot):
    before = docks_shown(window)
    window.actions_by_id.run("lesson")
    assert window.middle.currentWidget() is window.lesson.pane
    assert docks_shown(window) == set()
    window.actions_by_id.run("lesson")
    assert window.middle.currentWidget() is window.plot
    assert docks_shown(window) == before


def test_the_start_page_has_a_door_to_it(window):
    page = window.middle.widget(0)
    door = next(one for one in page.findChildren(QPushButton) if one.text() == "Hold a lesson…")
    door.click()
    assert window.lesson.shown
    window.lesson.pane.back.click()
    assert not window.lesson.shown


def test_opening_a_folder_leaves_the_lesson(window, session, tmp_path):
    window.lesson.open()
    session.open(tmp_path)
    assert not window.lesson.shown
    assert window.middle.currentWidget() is window.plot


def test_results_that_arrive_do_not_push_it_away(window, session):
    window.lesson.open()
    session.arrived.notify(Arrival())
    assert window.middle.currentWidget() is window.lesson.pane


def test_presentation_hides_the_rest_and_escape_brings_it_back(window):
    before = docks_shown(window)
    window.actions_by_id.run("present_lesson")
    assert window.isFullScreen()
    bars = (window.menuBar(), window.statusBar(), *window.findChildren(QToolBar))
    assert all(bar.isHidden() for bar in bars)
    window.lesson.pane.end_presentation()
    assert not any(bar.isHidden() for bar in bars)
    assert not window.isFullScreen()
    assert window.lesson.shown
    window.lesson.leave()
    assert docks_shown(window) == before


def test_what_would_explain_this_opens_the_page(window, session):
    window.actions_by_id.run("explain")
    assert window.lesson.pane.shown_page is window.lesson.pane.explain
    assert window.lesson.pane.explain.said.text()


def test_closing_from_the_lesson_remembers_the_panes(window, session, qapp):
    window.docks.default_layout()
    qapp.processEvents()
    layout = window.saveState(LAYOUT_VERSION).toBase64().data().decode()
    window.actions_by_id.run("present_lesson")
    window.close()
    assert session.settings.value.window_layout == layout
