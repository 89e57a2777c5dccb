"""On a window of 1280 x 720 every pane shows its words whole, on the desk it lies on."""

import pytest
from PySide6.QtWidgets import QLabel, QPushButton

from tests.app.cut_words import cut_words, sideways
from viewer.app.desks import DESKS
from viewer.app.main_window import MainWindow
from viewer.app.panes import PANES
from viewer.site_data.resource_folder import example_folder
from viewer.state.session import Session
from viewer.state.settings import Settings
from viewer.state.visit_opening import open_site
from viewer.widgets.theme import Look, figures_font

PLACES = [(desk.id, pane) for desk in DESKS for pane in desk.panes]
FLOATING = [pane for pane in PANES if pane.floating]


@pytest.fixture(scope="module")
def window(qapp):
    """The window as it comes up on a small screen, with the example open."""
    before = qapp.font()
    qapp.setFont(figures_font())
    session = Session(open_site, Settings(theme="light"))
    made = MainWindow(session, Look(session.settings))
    made.resize(1280, 720)
    made.docks.default_layout()
    made.show()
    qapp.processEvents()
    session.open(example_folder())
    qapp.processEvents()
    yield made
    made.close()
    made.deleteLater()
    qapp.setFont(before)


@pytest.mark.parametrize(("desk", "pane"), PLACES)
def test_no_word_of_a_pane_is_cut(window, qapp, desk, pane):
    if window.desks.current.value != desk:
        window.actions_by_id.run(f"desk_{desk}")
    window.docks.show(pane)
    qapp.processEvents()  # the pane is seen and filled
    qapp.processEvents()  # and laid out
    assert window.width() == 1280
    assert cut_words(window.pane(pane)) == []
    assert sideways(window.pane(pane)) == []


@pytest.mark.parametrize("desk", [one.id for one in DESKS])
def test_no_pane_takes_room_from_the_others(window, qapp, desk):
    """A tab brought to the front leaves the panes at the left and the plot as they were."""
    window.actions_by_id.run(f"desk_{desk}")
    qapp.processEvents()
    left = window.docks.by_id["strings"].width()
    for pane in next(one.panes for one in DESKS if one.id == desk):
        window.docks.show(pane)
        qapp.processEvents()
        assert window.docks.by_id["strings"].width() == left, pane


@pytest.mark.parametrize("pane", FLOATING, ids=lambda pane: pane.id)
def test_no_word_of_a_floating_pane_is_cut(window, qapp, pane):
    window.docks.show(pane.id)
    qapp.processEvents()
    found = cut_words(window.pane(pane.id))
    window.docks.by_id[pane.id].hide()
    assert found == []


def test_no_word_of_the_start_page_is_cut(window, qapp):
    page = window.middle.widget(0)
    window.middle.setCurrentWidget(page)
    qapp.processEvents()
    found = cut_words(page)
    window.middle.setCurrentIndex(1)
    assert found == []


@pytest.mark.parametrize("page", range(4))
def test_no_word_of_the_lesson_is_cut(window, qapp, page):
    window.lesson.open()
    window.lesson.pane.tabs.setCurrentIndex(page)
    qapp.processEvents()
    found = cut_words(window.lesson.pane)
    window.lesson.leave()
    assert found == []


def test_words_without_room_are_found(shown):
    label = shown(QLabel("quite a number of words"), 40, 20)
    button = QPushButton("Cancel everything", label)
    button.resize(20, 20)
    button.show()
    found = cut_words(label)
    assert len(found) == 1
    assert "Cancel everything" in found[0]
