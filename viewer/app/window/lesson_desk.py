"""The lesson in the middle of the window, with the panes of the site out of its way."""

import importlib
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QObject, Qt, Signal
from PySide6.QtWidgets import QMainWindow, QStackedWidget, QToolBar

from viewer.app.window.pane_docks import LAYOUT_VERSION, PaneDocks
from viewer.state.actions import Action, has_selection
from viewer.state.session import Session
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.reachable import make_reachable
from viewer.widgets.controls.theme import Look
from viewer.widgets.program.start_page import Door

if TYPE_CHECKING:
    from viewer.widgets.lesson.lesson_pane import LessonPane

LESSON_MODULE = "viewer.widgets.lesson.lesson_pane"
"""Named as a string: it is not seen at first, and the window starts sooner without it."""


class LessonDesk(QObject):
    """Opens and leaves the lesson; the panes come back as they were. Made when first opened."""

    left = Signal()
    """The middle is free for the site again."""
    opened = Signal()

    def __init__(
        self,
        window: QMainWindow,
        middle: QStackedWidget,
        docks: PaneDocks,
        session: Session,
        look: Look,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._middle = middle
        self._docks = docks
        self._session = session
        self._look = look
        self._pane: LessonPane | None = None
        self._layout: QByteArray | None = None
        self._state = Qt.WindowState.WindowNoState
        follow(self, session.opened, self.leave)

    @property
    def shown(self) -> bool:
        return self._layout is not None

    @property
    def pane(self) -> "LessonPane":
        if self._pane is None:
            made = importlib.import_module(LESSON_MODULE).LessonPane
            self._pane = made(self._session, self._look)
            self._middle.addWidget(self._pane)
            make_reachable(self._pane)
            self._pane.left.connect(self.leave)
            follow(self, self._pane.lesson.big.changed, self._show_big)
        return self._pane

    def door(self) -> Door:
        """The way to begin from the start page: title, meaning, what to do."""
        return (
            "Hold a lesson…",
            "Faults simulated under sliders, side by side and as a quiz; all of it invented.",
            self.open,
        )

    def actions(self) -> tuple[Action, ...]:
        return (
            Action(
                "lesson",
                "Lesson desk",
                "View",
                lambda _: self.leave() if self.shown else self.open(),
                "F9",
                "Simulated faults under sliders, side by side, as a quiz; again to go back",
                checked=lambda _: self.shown,
                group="lesson",
            ),
            Action(
                "present_lesson",
                "Present the lesson",
                "View",
                lambda _: self.present(),
                "",
                "The lesson with large letters on the whole screen; Esc ends it",
                group="lesson",
            ),
            Action(
                "explain",
                "What would explain this?",
                "Strings",
                lambda _: self.explain(),
                "F7",
                "Fit every simulated fault to the current trace and lay the best over it",
                has_selection,
                group="explain",
            ),
        )

    def open(self) -> None:
        """Show the lesson in the middle and put the panes of the site away."""
        if not self.shown:
            self._layout = self._window.saveState(LAYOUT_VERSION)
            for dock in self._docks.by_id.values():
                dock.hide()
        self._middle.setCurrentWidget(self.pane)
        self.pane.setFocus()
        self.opened.emit()

    def explain(self) -> None:
        """Fit the scenarios to the current trace and show what comes of it."""
        self.open()
        self.pane.show_page(self.pane.explain)
        self.pane.explain.explain()

    def present(self) -> None:
        self.open()
        self.pane.lesson.big.value = True

    def leave(self) -> None:
        """Give the window back to the site, its panes as they were."""
        if self._layout is None:
            return
        self.pane.lesson.big.value = False
        layout, self._layout = self._layout, None
        self.left.emit()
        self._docks.put_back(layout)

    def _show_big(self, big: bool) -> None:
        """Only the lesson on the whole screen, or the window as it was."""
        window = self._window
        for bar in (window.menuBar(), window.statusBar(), *window.findChildren(QToolBar)):
            bar.setVisible(not big)
        if big:
            self._state = window.windowState()
            window.setWindowState(self._state | Qt.WindowState.WindowFullScreen)
        else:
            window.setWindowState(self._state & ~Qt.WindowState.WindowFullScreen)
