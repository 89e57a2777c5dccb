"""The docks of a window: made from the table of panes, laid out, remembered and given back."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QByteArray, QEvent, QObject, QPoint, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QDockWidget,
    QMainWindow,
    QStyle,
    QWidget,
)

from viewer.app.window.panes import BOTTOM, LEFT, RIGHT, Pane
from viewer.state.session import Session
from viewer.widgets.controls.moved_in_sight import MovedInSight
from viewer.widgets.controls.theme import Look

LAYOUT_VERSION = 2
"""Raise it when panes change so that a remembered layout no longer fits."""
LEFT_SHARE, BOTTOM_SHARE, UPPER_SHARE = 0.4, 0.33, 0.45
"""Of the window: width of the left panes, height of the bottom ones and of the upper left one."""
TITLE_BUTTONS: dict[str, str] = {
    "qt_dockwidget_floatbutton": "Float or dock",
    "qt_dockwidget_closebutton": "Close",
}
"""What Qt calls the buttons in a dock's title, and what they do."""


class PaneDocks(QObject):
    """A dock a pane. What a dock holds is made when it is first seen: unseen panes cost nothing."""

    made = Signal(str)
    """Passes the id of a pane whose widget has just been made."""

    def __init__(
        self, window: QMainWindow, panes: Sequence[Pane], session: Session, look: Look
    ) -> None:
        super().__init__(window)
        self._window = window
        self._panes = {pane.id: pane for pane in panes}
        self._session = session
        self._look = look
        self.by_id: dict[str, QDockWidget] = {}
        self._held: dict[str, QWidget] = {}
        self._first = QByteArray()
        window.setCorner(Qt.Corner.BottomLeftCorner, LEFT)
        window.setCorner(Qt.Corner.BottomRightCorner, RIGHT)
        for pane in panes:
            self._add(pane)

    def _add(self, pane: Pane) -> None:
        dock = QDockWidget(pane.title, self._window)
        dock.setObjectName(f"pane_{pane.id}")
        self.by_id[pane.id] = dock
        self._place(pane)
        if pane.escapes:
            dock.installEventFilter(self)
        if pane.shown and not pane.with_pane:
            self.widget(pane.id)
        dock.visibilityChanged.connect(
            lambda seen, name=pane.id: self.widget(name) if seen else None
        )
        for signal in (dock.visibilityChanged, dock.topLevelChanged):  # Qt names them anew
            signal.connect(lambda _, name=pane.id: self._name_buttons(name))

    def _name_buttons(self, name: str) -> None:
        for button, word in TITLE_BUTTONS.items():
            found = self.by_id[name].findChild(QAbstractButton, button)
            if found is not None:
                found.setAccessibleName(f"{word} {self._panes[name].title}")

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Esc that nothing in a window of its own had a use for puts that window away."""
        if event.type() != QEvent.Type.KeyPress or not isinstance(event, QKeyEvent):
            return False
        if event.key() != Qt.Key.Key_Escape or not isinstance(watched, QDockWidget):
            return False
        if watched.isFloating():
            watched.hide()
            self._window.activateWindow()
        return watched.isHidden()

    def _place(self, pane: Pane) -> None:
        dock = self.by_id[pane.id]
        self._window.addDockWidget(pane.area, dock)
        if pane.floating:
            dock.setFloating(True)
        if pane.with_pane:
            self._window.tabifyDockWidget(self.by_id[pane.with_pane], dock)
        dock.setVisible(pane.shown)

    def widget(self, name: str) -> QWidget:
        """The widget of a pane by its id, made now if it was not seen before."""
        if name not in self._held:
            made = self._panes[name].factory(self._session, self._look)
            self._held[name] = made
            under_plot = self._panes[name].area == BOTTOM
            self.by_id[name].setWidget(MovedInSight(made) if under_plot else made)
            self.made.emit(name)
        return self._held[name]

    def held(self, name: str) -> QWidget | None:
        """The widget of a pane by its id, None if nobody has seen it yet."""
        return self._held.get(name)

    def show(self, name: str) -> None:
        """Bring a pane to the front and give it the keyboard."""
        dock = self.by_id[name]
        pane = self.widget(name)
        dock.show()
        if dock.isFloating() and self._panes[name].floating:
            self._centre(name)
        dock.raise_()
        if dock.isFloating():
            dock.activateWindow()
        pane.setFocus()

    def in_use(self) -> str | None:
        """The id of the pane that has the keyboard, None when none has."""
        focus = QApplication.focusWidget()
        held = self._held.items()
        return next((name for name, pane in held if focus and pane.isAncestorOf(focus)), None)

    def title_in_use(self) -> str:
        """The title of the pane that has the keyboard; "" when none has."""
        name = self.in_use()
        return "" if name is None else self._panes[name].title

    def _centre(self, name: str) -> None:
        """Give a floating pane its size and a place over the window when it is first shown."""
        dock = self.by_id[name]
        if dock.property("placed"):
            return
        dock.setProperty("placed", True)
        screen = self._window.screen().availableGeometry()
        size = QSize(*self._panes[name].size).boundedTo(screen.size())
        corner = self._window.frameGeometry().center() - QPoint(size.width(), size.height()) / 2
        last = screen.bottomRight() - QPoint(size.width(), size.height())
        dock.resize(size)
        dock.move(
            max(screen.left(), min(corner.x(), last.x())),
            max(screen.top(), min(corner.y(), last.y())),
        )

    def default_layout(self) -> None:
        """Strings over heat-grid at the left, the rest under the plot, as it was at first.

        Docks are placed once and later put back: placed anew while others share their tab bar,
        they leave those behind a bar of their own, in sight and of no use.
        """
        if self._first.isEmpty():
            for pane in self._alone(BOTTOM):
                self.by_id[pane.id].raise_()
            self._first = self._window.saveState(LAYOUT_VERSION)
        else:
            self.put_back(self._first)

    def share_out(self, lower: float = BOTTOM_SHARE) -> None:
        """Give each place its share of the window, which must have its size by then."""
        self.give_lower_share(lower)
        left = [self.by_id[one.id] for one in self._alone(LEFT)]
        left = [dock for dock in left if not dock.isHidden()]
        width, height = self._window.width(), self._window.height()
        if left:
            widths = [round(width * LEFT_SHARE)] * len(left)
            self._window.resizeDocks(left, widths, Qt.Orientation.Horizontal)
        if len(left) > 1:
            upper = round(height * UPPER_SHARE)
            self._window.resizeDocks(left[:1], [upper], Qt.Orientation.Vertical)

    def _lower(self) -> QDockWidget | None:
        """A dock under the plot that is in sight; those of one tab bar share its height."""
        docks = (self.by_id[one.id] for one in self._panes.values() if one.area == BOTTOM)
        return next((one for one in docks if not one.isHidden() and not one.isFloating()), None)

    def lower_share(self) -> float:
        """The part of the window's height that the panes under the plot have, with their tabs."""
        window, middle = self._window, self._window.centralWidget()
        if self._lower() is None or middle is None:
            return BOTTOM_SHARE
        separator = QStyle.PixelMetric.PM_DockWidgetSeparatorExtent
        above = middle.geometry().bottom() + 1
        above += window.style().pixelMetric(separator, None, window)
        return (window.statusBar().geometry().top() - above) / max(1, window.height())

    def give_lower_share(self, share: float) -> None:
        """Give the panes under the plot that part of the window's height."""
        dock = self._lower()
        if dock is not None:
            height = round(share * self._window.height())
            self._window.resizeDocks([dock], [height], Qt.Orientation.Vertical)

    def _alone(self, area: Qt.DockWidgetArea) -> list[Pane]:
        return [one for one in self._panes.values() if one.area == area and not one.with_pane]

    def put_back(self, layout: QByteArray) -> None:
        """Lay the docks as the window's state `layout` tells; one that cannot be read is ignored.

        Qt makes new tab bars and forgets those it had, which stay in sight with the tabs they
        hold. A bar whose docks are all hidden holds none.
        """
        shown = [dock for dock in self.by_id.values() if not dock.isHidden()]
        for dock in self.by_id.values():
            dock.hide()
        arrangement = self._window.layout()
        if arrangement is not None:
            arrangement.activate()
        if not self._window.restoreState(layout, LAYOUT_VERSION):
            for dock in shown:
                dock.show()

    def restore(self) -> None:
        """Where the panes and the window were when it was last closed."""
        settings = self._session.settings.value
        if settings.window_geometry:
            self._window.restoreGeometry(QByteArray.fromBase64(settings.window_geometry.encode()))
        if settings.window_layout:
            self.put_back(QByteArray.fromBase64(settings.window_layout.encode()))

    def remembered(self) -> dict[str, Any]:
        """The layout as the fields of the settings that keep it."""
        geometry = self._window.saveGeometry().toBase64().data()
        layout = self._window.saveState(LAYOUT_VERSION).toBase64().data()
        return {
            "window_geometry": bytes(geometry).decode(),
            "window_layout": bytes(layout).decode(),
        }
