"""On the smallest window, 960 x 600, nothing lies beyond an edge where nobody can get at it."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QTabBar, QToolButton

from tests.app.window.cut_words import cut_words
from tests.app.window.example_window import example_window
from viewer.app.window.desks import DESKS
from viewer.app.window.main_window import MORE, SMALLEST
from viewer.reports.curve_figure import FORMS
from viewer.widgets.controls.theme import DARK, LIGHT

PLACES = [(desk.id, pane) for desk in DESKS for pane in desk.panes]


@pytest.fixture(scope="module")
def window(qapp):
    with example_window(qapp, SMALLEST.width(), SMALLEST.height()) as made:
        yield made


def show(window, qapp, desk, pane):
    if window.desks.current.value != desk:
        window.actions_by_id.run(f"desk_{desk}")
    window.docks.show(pane)
    for _ in range(3):  # seen and filled, laid out, and the bars of what is moved after that
        qapp.processEvents()
    assert window.size() == SMALLEST


@pytest.mark.parametrize(("desk", "pane"), PLACES)
def test_panes_lie_in_the_window_and_all_of_them_can_be_moved_into_sight(window, qapp, desk, pane):
    show(window, qapp, desk, pane)
    place = window.docks.by_id[pane].geometry()
    assert place.right() < window.width()
    assert place.bottom() < window.statusBar().y()
    held = window.pane(pane)
    assert held.width() >= held.minimumSizeHint().width()
    assert held.height() >= held.minimumSizeHint().height()


def test_what_the_curve_shows_and_the_first_check_are_seen_at_once(window, qapp):
    """Rows for entries had taken the room: three lines of the findings were left."""
    show(window, qapp, "compare", "findings")
    window.session.selection.choose(["2025-06-first-year/CB-C/CB-C-S08.csv"])
    qapp.processEvents()
    words = window.pane("findings").words
    found = words.document().find("Next check")
    assert not found.isNull()
    assert words.cursorRect(found).bottom() < words.viewport().height()
    assert words.verticalScrollBar().value() == 0


@pytest.mark.parametrize(("desk", "pane"), PLACES)
def test_no_word_is_cut(window, qapp, desk, pane):
    show(window, qapp, desk, pane)
    QTest.qWait(50)  # what is filled a moment after it is seen
    by_tabs = ("QTabBar",)  # with arrows at their end, on a window this small
    assert [one for one in cut_words(window.pane(pane)) if not one.startswith(by_tabs)] == []


@pytest.mark.parametrize("desk", [one.id for one in DESKS])
def test_the_curves_have_their_axis_and_tabs_their_whole_titles(window, qapp, desk):
    show(window, qapp, desk, next(one for one in DESKS if one.id == desk).panes[0])
    plot = window.plot
    assert plot.height() <= window.middle.height()
    assert plot.height() >= 250
    for bar in window.findChildren(QTabBar, options=Qt.FindChildOption.FindDirectChildrenOnly):
        words = bar.fontMetrics().horizontalAdvance
        for place in range(bar.count() if bar.isVisible() else 0):
            assert bar.tabRect(place).width() > words(bar.tabText(place)), bar.tabText(place)


@pytest.mark.parametrize("desk", [one.id for one in DESKS])
@pytest.mark.parametrize("form", FORMS)
def test_the_readout_of_the_crosshair_is_whole(window, qapp, desk, form):
    show(window, qapp, desk, "strings")
    session = window.session
    session.selection.choose(["2025-06-first-year/CB-A/CB-A-S10.csv"])
    session.choices.form.value = form
    qapp.processEvents()
    for key in (Qt.Key.Key_Home, Qt.Key.Key_PageUp, Qt.Key.Key_End):
        QTest.keyClick(window.plot.canvas, key)
        words = window.plot.readout.text()
        assert words.startswith("CB-A-S10:  V")
        assert ("predicted I" in words) == (form != "relative")
        assert cut_words(window.plot) == []
    session.choices.form.value = "measured"


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_the_way_to_what_has_no_room_in_the_tool_bar_is_seen(window, qapp, theme):
    window.look.theme.value = theme
    qapp.processEvents()
    more = [one for one in window.findChildren(QToolButton, MORE) if one.isVisible()]
    assert len(more) == 1
    picture = more[0].grab().toImage()
    ground = QColor(theme.window).lightness()
    places = [(x, y) for x in range(picture.width()) for y in range(picture.height())]
    contrast = max(abs(picture.pixelColor(*one).lightness() - ground) for one in places)
    window.look.theme.value = LIGHT
    assert contrast > 120


def test_the_conditions_beside_the_key_points_can_be_read(window, qapp):
    show(window, qapp, "compare", "key_points")
    details = window.pane("key_points").details
    assert details.width() >= 25 * details.fontMetrics().averageCharWidth()


def test_the_readout_is_beside_the_buttons_again_where_there_is_room(window, qapp):
    plot = window.plot
    below = plot.readout.y() > plot.mark_button.geometry().bottom()
    window.resize(1280, 720)
    qapp.processEvents()
    beside = plot.readout.y() < plot.mark_button.geometry().bottom()
    window.resize(SMALLEST)
    qapp.processEvents()
    assert (below, beside) == (True, True)
