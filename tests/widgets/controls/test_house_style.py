"""The house's own drawing after changes of theme, read from the pixels that reach the screen."""

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import (
    QAbstractButton,
    QDockWidget,
    QLineEdit,
    QMainWindow,
    QTableWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from tests.widgets.controls.test_theme import contrast
from viewer.widgets.controls.focus_ring import FocusRing
from viewer.widgets.controls.house_style import dress
from viewer.widgets.controls.theme import DARK, LIGHT


class Room(QMainWindow):
    """A dock with a table of two rows over a tool button and a line to write in."""

    def __init__(self) -> None:
        super().__init__()
        self.table = QTableWidget(2, 2)
        self.button = QToolButton()
        self.button.setCheckable(True)
        self.line = QLineEdit()
        inside = QWidget()
        column = QVBoxLayout(inside)
        for one in (self.table, self.button, self.line):
            column.addWidget(one)
        self.dock = QDockWidget("A dock", self)
        self.dock.setWidget(inside)
        self.addDockWidget(Qt.DockWidgetArea.LeftDockWidgetArea, self.dock)
        self.setCentralWidget(QWidget())

    def seen(self, widget: QWidget, x: int, y: int) -> str:
        """Colour at a place of the widget, as the whole window is drawn."""
        place = widget.mapTo(self, QPoint(x, y))
        return QColor(self.grab().toImage().pixel(place)).name().upper()

    def floor_of_table(self) -> str:
        return self.seen(self.table.viewport(), 10, self.table.viewport().height() - 10)


@pytest.fixture
def room(qapp, shown):
    dress(qapp, LIGHT)
    yield shown(Room(), 700, 420)
    dress(qapp, LIGHT)


@pytest.mark.parametrize("theme", [DARK, LIGHT], ids=["dark", "light"])
def test_what_is_in_sight_takes_the_theme(qapp, room, theme):
    for one in (LIGHT, DARK, theme):
        dress(qapp, one)
    qapp.processEvents()
    room.button.setChecked(True)
    header = room.table.horizontalHeader()
    assert room.seen(header, 3, 3) == theme.raised
    assert room.seen(room.dock, room.dock.width() // 2, 3) == theme.raised
    assert room.floor_of_table() == theme.base
    assert room.seen(room.centralWidget(), 5, 5) == theme.window
    assert room.seen(room.button, 4, room.button.height() // 2) == theme.selected
    assert room.seen(room.button, 0, room.button.height() // 2) == theme.accent


@pytest.mark.parametrize("theme", [DARK, LIGHT], ids=["dark", "light"])
def test_rows_that_are_chosen_keep_a_quiet_ground(qapp, room, theme):
    dress(qapp, theme)
    room.table.selectRow(1)
    place = room.table.rowViewportPosition(1) + 10
    drawn = QColor(room.seen(room.table.viewport(), 10, place))
    wanted = QColor(theme.selected)
    for part in (QColor.red, QColor.green, QColor.blue):
        assert abs(part(drawn) - part(wanted)) <= 4  # lighter by a breath under the pointer


@pytest.mark.parametrize("theme", [DARK, LIGHT], ids=["dark", "light"])
def test_lines_between_cells_are_seen_and_quiet(qapp, room, theme):
    dress(qapp, theme)
    edge = room.table.columnViewportPosition(1) - 1
    line = room.seen(room.table.viewport(), edge, 10)
    assert 1.2 <= contrast(line, theme.base) <= 1.6


def test_what_was_hidden_at_the_change_shows_the_new_theme(qapp, room):
    room.dock.hide()
    dress(qapp, DARK)
    room.dock.show()
    qapp.processEvents()
    assert room.floor_of_table() == DARK.base
    assert room.seen(room.table.horizontalHeader(), 3, 3) == DARK.raised


def test_there_is_no_style_sheet_to_work_out_for_every_widget(qapp, room):
    dress(qapp, DARK)
    assert qapp.styleSheet() == ""


@pytest.mark.parametrize("name", ["table", "button", "line"])
def test_the_keyboard_s_place_wears_a_ring(qapp, qtbot, room, name):
    ring = FocusRing(qapp, room)
    dress(qapp, DARK)
    widget = getattr(room, name)
    room.activateWindow()
    other = room.line if name != "line" else room.table
    other.setFocus(Qt.FocusReason.TabFocusReason)
    qtbot.waitUntil(lambda: ring.around is other)
    assert room.seen(widget, 0, widget.height() // 2) != DARK.accent
    widget.setFocus(Qt.FocusReason.TabFocusReason)
    qtbot.waitUntil(lambda: ring.around is widget)
    qapp.processEvents()
    assert room.seen(widget, 0, widget.height() // 2) == DARK.accent


def test_the_ring_outlives_what_it_was_around(qapp, qtbot, room):
    ring = FocusRing(qapp, room)
    room.activateWindow()
    room.line.setFocus()
    qtbot.waitUntil(lambda: ring.around is room.line)
    room.dock.widget().deleteLater()
    qtbot.waitUntil(lambda: ring.around is None)
    line = QLineEdit(room.centralWidget())
    line.show()
    line.setFocus()
    qtbot.waitUntil(lambda: ring.around is line)


@pytest.mark.parametrize("name", ["qt_dockwidget_closebutton", "qt_dockwidget_floatbutton"])
def test_the_buttons_of_a_dock_are_seen_in_either_theme(qapp, room, name):
    button = room.dock.findChild(QAbstractButton, name)
    for theme in (DARK, LIGHT):
        dress(qapp, theme)
        for floating in (True, False):
            room.dock.setFloating(floating)
            qapp.processEvents()
            picture = button.icon().pixmap(16).toImage()
            places = [(x, y) for x in range(16) for y in range(16)]
            seen = [picture.pixelColor(*one) for one in places]
            drawn = [one.name() for one in seen if one.alpha() > 200]
            assert drawn
            assert max(contrast(one, theme.raised) for one in drawn) > 4.5
