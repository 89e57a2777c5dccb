"""Everything in the window has a name for screen readers and a place on the keyboard's way."""

import re
from collections import Counter
from itertools import pairwise
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QAccessibleInterface, QKeySequence, QShortcut
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QTableView,
    QWidget,
)

from tests.invented_results import InventedOpener, invented_visits
from viewer.app.window.desks import DESKS
from viewer.app.window.main_window import MENUS, MainWindow
from viewer.app.window.panes import PANES
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.widgets.controls.reachable import reading_order
from viewer.widgets.controls.theme import Look

ROLE = QAccessible.Role
CONTROLS = {
    ROLE.Button,
    ROLE.ButtonMenu,
    ROLE.CheckBox,
    ROLE.RadioButton,
    ROLE.ComboBox,
    ROLE.EditableText,
    ROLE.SpinBox,
    ROLE.Slider,
    ROLE.Table,
    ROLE.Tree,
    ROLE.PageTab,
    ROLE.MenuItem,
    ROLE.ProgressBar,
    ROLE.Graphic,
    ROLE.Chart,
}
PLACES = [(desk.id, pane) for desk in DESKS for pane in desk.panes]
FLOATING = [pane.id for pane in PANES if pane.floating]
TALL_STEP = 8
"""Pixels by which widgets of one line may begin higher or lower than each other."""


def nodes(widget: QWidget):
    """Every node that a screen reader finds under a widget, itself among them."""
    waiting = [QAccessible.queryAccessibleInterface(widget)]
    while waiting:
        node = waiting.pop()
        if node is None or not node.isValid():
            continue
        yield node
        if node.role() not in (ROLE.ComboBox, ROLE.Table, ROLE.Tree, ROLE.List):
            waiting += [node.child(place) for place in range(node.childCount())]


def nameless(widget: QWidget) -> list[str]:
    """The controls in sight that a screen reader could only call by their kind."""
    found = []
    for node in nodes(widget):
        text = node.text(QAccessible.Text.Name) or node.text(QAccessible.Text.Description)
        if node.role() in CONTROLS and not text.strip() and not node.state().invisible:
            found.append(f"{node.role().name} {node.object()}")
    return found


def stops(pane: QWidget) -> list[QWidget]:
    """What the Tab key stops at under a pane, in the order of the focus chain."""
    found, one = [], pane.nextInFocusChain()
    while one is not pane:
        if (
            pane.isAncestorOf(one)
            and one.isVisible()
            and one.isEnabled()
            and one.focusPolicy() & Qt.FocusPolicy.TabFocus
        ):
            found.append(one)
        one = one.nextInFocusChain()
    return found


@pytest.fixture(scope="module")
def standing(qapp):
    """One window for all tests that only look at it: making it takes most of their time."""
    session = Session(InventedOpener(invented_visits()), Settings(theme="light"))
    session.open(Path("/invented/visit"))
    made = MainWindow(session, Look(session.settings))
    made.resize(1280, 720)
    made.show()
    qapp.processEvents()
    yield made
    made.close()
    made.deleteLater()


def show(window, desk: str, pane: str) -> QWidget:
    if window.desks.current.value != desk:
        window.actions_by_id.run(f"desk_{desk}")
    window.docks.show(pane)
    QApplication.processEvents()
    return window.pane(pane)


@pytest.mark.parametrize(("desk", "pane"), PLACES)
def test_every_control_of_a_pane_has_a_name(standing, desk, pane):
    assert nameless(show(standing, desk, pane)) == []


@pytest.mark.parametrize("pane", FLOATING)
def test_every_control_of_a_floating_pane_has_a_name(standing, qapp, pane):
    standing.docks.show(pane)
    qapp.processEvents()
    assert nameless(standing.pane(pane)) == []


def test_every_control_of_the_plot_the_bars_and_the_lesson_has_a_name(window, qapp):
    window.plot.mark_button.setChecked(True)
    window.pane("strings").words.setText("S1")
    qapp.processEvents()
    assert nameless(window) == []
    window.lesson.open()
    for page in range(window.lesson.pane.tabs.count()):
        window.lesson.pane.tabs.setCurrentIndex(page)
        qapp.processEvents()
        assert nameless(window.lesson.pane) == []


def test_a_choice_says_what_it_chooses(standing):
    """On Linux Qt gives the chosen entry as a combo box's name."""
    for box in standing.findChildren(QComboBox):
        if box.accessibleName():
            assert box.accessibleDescription(), box.accessibleName()


def cell(view: QTableView, row: int, column: int) -> QAccessibleInterface:
    """A cell as Qt hands it on: after the corner, the headings, and each row's heading."""
    table = QAccessible.queryAccessibleInterface(view)
    assert table.role() == ROLE.Table
    columns = view.model().columnCount()
    assert table.childCount() == (columns + 1) * (view.model().rowCount() + 1)
    return table.child((row + 1) * (columns + 1) + 1 + column)


def test_cells_of_the_heat_grid_and_of_the_key_points_say_what_they_are(standing):
    grid = cell(standing.pane("heat_grid").view, 0, 0)
    point = cell(standing.pane("key_points").view, 0, 1)
    for found, words in ((grid, "S1: Isc "), (point, "Isc predicted: ")):
        assert found.role() == ROLE.Cell
        assert found.text(QAccessible.Text.Name).startswith(words)
    assert "against predicted" in grid.text(QAccessible.Text.Name)
    assert point.text(QAccessible.Text.Name).endswith(" A")


@pytest.mark.parametrize(("desk", "pane"), PLACES)
def test_the_tab_key_goes_the_way_people_read(standing, desk, pane):
    """Each next stop lies further down or further right."""
    widget = show(standing, desk, pane)
    chain = stops(widget)
    assert chain, "nothing can be reached"
    for one, after in pairwise(chain):
        here = one.mapTo(widget, one.rect().topLeft())
        there = after.mapTo(widget, after.rect().topLeft())
        down, right = there.y() - here.y() >= -TALL_STEP, there.x() > here.x()
        assert down or right, (one.accessibleName(), after.accessibleName())


@pytest.mark.parametrize(("desk", "pane"), PLACES)
def test_everything_that_can_be_used_is_on_the_way(standing, desk, pane):
    widget = show(standing, desk, pane)
    chain = set(stops(widget))
    kinds = QPushButton | QComboBox | QAbstractSpinBox | QLineEdit | QTableView
    for one in widget.findChildren(QWidget):
        inner = isinstance(one.parent(), QAbstractSpinBox | QComboBox)
        if isinstance(one, kinds) and one.isVisible() and one.isEnabled() and not inner:
            assert one in chain, one.accessibleName()


def test_the_tab_key_leaves_tables_and_texts(window, qapp):
    for pane in PANES:
        window.docks.show(pane.id)
    for table in window.findChildren(QTableView):
        assert not table.tabKeyNavigation(), table.accessibleName()
    for text in window.findChildren(QPlainTextEdit):
        assert text.tabChangesFocus(), text.accessibleName()
    strings = window.pane("strings").view
    window.docks.show("strings")
    strings.setFocus()
    QTest.keyClick(strings, Qt.Key.Key_Tab)
    assert qapp.focusWidget() is not strings


def test_f6_goes_through_the_panes_in_sight_and_comes_back(window, qapp):
    window.plot.canvas.setFocus()
    met = []
    for _ in range(4):
        window.actions_by_id.run("next_pane")
        qapp.processEvents()
        focus = qapp.focusWidget()
        places = {"plot": window.plot, **{one.id: window.pane(one.id) for one in PANES}}
        met.append(next(name for name, one in places.items() if one.isAncestorOf(focus)))
    assert met == ["strings", "heat_grid", "key_points", "plot"]
    window.actions_by_id.run("previous_pane")
    assert window.pane("key_points").isAncestorOf(qapp.focusWidget())


def test_f6_towards_the_curves_lands_where_the_arrow_keys_move_the_crosshair(window, qapp):
    for place, step in (("strings", "previous_pane"), ("key_points", "next_pane")):
        window.pane(place).view.setFocus()
        window.actions_by_id.run(step)
        assert qapp.focusWidget() is window.plot.canvas
        QTest.keyClick(qapp.focusWidget(), Qt.Key.Key_Right)
        assert "predicted I" in window.plot.readout.text()
        window.plot.crosshair.hide()
    QTest.keyClick(window.plot.canvas, Qt.Key.Key_Backtab)
    assert qapp.focusWidget() is window.plot.mark_button, "the tools lie before the curves"


def test_buttons_in_the_titles_of_panes_say_of_which_pane_they_are(standing):
    for pane in PANES:
        show(standing, standing.desks.current.value, pane.id)
        found = standing.docks.by_id[pane.id].findChildren(QAbstractButton)
        named = {one.accessibleName() for one in found if one.objectName().startswith("qt_dock")}
        assert named == {f"Float or dock {pane.title}", f"Close {pane.title}"}
        if pane.floating:
            standing.docks.by_id[pane.id].hide()


def test_a_pane_is_floated_and_docked_by_the_keyboard(window, qapp):
    dock, view = window.docks.by_id["strings"], window.pane("strings").view
    view.setFocus()
    for floating in (True, False):
        window.actions_by_id.run("float_pane")
        qapp.processEvents()
        assert dock.isFloating() == floating
        close = dock.findChild(QAbstractButton, "qt_dockwidget_closebutton")
        assert close.accessibleName() == "Close Strings"
        assert window.pane("strings").isAncestorOf(qapp.focusWidget())
    window.plot.canvas.setFocus()
    window.actions_by_id.run("float_pane")
    assert "F6" in window.session.message.value


def test_what_has_no_room_in_the_tool_bar_has_a_name(window, qapp):
    window.resize(960, 600)
    qapp.processEvents()
    assert nameless(window) == []


def letters(words: list[str]) -> list[str]:
    """The letters that Alt takes to one of these titles."""
    keys = [QKeySequence.mnemonic(one).toString() for one in words]
    return [key for key in keys if key]


@pytest.mark.parametrize("desk", [one.id for one in DESKS])
def test_no_letter_is_taken_twice(standing, qapp, desk):
    standing.actions_by_id.run(f"desk_{desk}")
    for pane in next(one.panes for one in DESKS if one.id == desk):
        show(standing, desk, pane)
        buttons = [one for one in standing.findChildren(QPushButton) if one.isVisible()]
        labels = [one for one in standing.findChildren(QLabel) if one.isVisible() and one.buddy()]
        taken = letters([*MENUS, *(one.text() for one in (*buttons, *labels))])
        assert [key for key, count in Counter(taken).items() if count > 1] == []


def test_no_key_is_taken_twice(window):
    window.lesson.open()
    actions = [one.shortcut() for one in window.actions_by_id.qt.values()]
    others = [one.key() for one in window.findChildren(QShortcut)]
    keys = [key.toString() for key in (*actions, *others) if not key.isEmpty()]
    keys += letters(list(MENUS))
    assert [key for key, count in Counter(keys).items() if count > 1] == []


def test_reading_order_is_the_order_of_the_layouts(standing):
    pane = standing.pane("findings")
    settle, pictures = pane.settle, pane.picture_row
    order = reading_order(pane)
    upper = [settle.cause, settle.action, settle.parts, settle.keep]
    lower = [settle.retest, settle.overlay, settle.export]
    row = [pictures.attach, pictures.kind, pictures.caption, pictures.remove]
    assert order == [pane.words, *upper, *lower, *row, pictures.thumbs]


def test_f1_opens_the_page_about_what_has_the_keyboard(window, qapp):
    window.docks.show("mismatch")
    window.pane("mismatch").count.setFocus()
    window.actions_by_id.run("help")
    assert window.pane("help").chooser.currentText() == "Mismatch"
    window.plot.canvas.setFocus()
    window.actions_by_id.run("help")
    assert window.pane("help").chooser.currentText() == "Curves"


def test_pages_of_words_and_the_plot_are_spoken_with_what_stands_there(standing):
    show(standing, "compare", "key_points")
    words = standing.pane("key_points").details
    assert words.toPlainText()
    assert words.accessibleDescription() == words.toPlainText()
    words.setFocus()
    QTest.keyClick(words, Qt.Key.Key_Down)
    assert words.textCursor().position() > 0
    said = standing.plot.canvas.accessibleDescription()
    assert "Pmp" in said
    assert "W, predicted" in said


def test_numbers_of_plain_tables_are_spoken_with_their_unit(standing):
    pane = show(standing, "compare", "mismatch")
    said = cell(pane.list, 0, 1).text(QAccessible.Text.Name)
    assert re.fullmatch(r"Alone \d+ W", said)
