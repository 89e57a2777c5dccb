"""Panes that nobody has looked at yet are made ahead, one at a time, while nothing happens."""

from collections.abc import Callable

from PySide6.QtCore import QElapsedTimer, QEvent, QObject, QTimer
from PySide6.QtWidgets import QApplication, QMainWindow

from viewer.app.window.pane_docks import PaneDocks
from viewer.state.session import Session

QUIET = 2000
"""Milliseconds without mouse, key or work after which a pane is made."""
LOOK_EVERY = 300
INPUT = frozenset(
    {
        QEvent.Type.KeyPress,
        QEvent.Type.KeyRelease,
        QEvent.Type.MouseButtonPress,
        QEvent.Type.MouseButtonRelease,
        QEvent.Type.MouseMove,
        QEvent.Type.Wheel,
        QEvent.Type.Resize,
        QEvent.Type.TouchBegin,
        QEvent.Type.TouchUpdate,
    }
)


class PanesAhead(QObject):
    """Watches a shown window's input until all of `docks`, and what is in `more`, is made.

    Each pane takes some hundredths of a second, which nobody who only looks will notice.
    """

    def __init__(
        self,
        window: QMainWindow,
        docks: PaneDocks,
        session: Session,
        more: tuple[Callable[[], object], ...] = (),
    ) -> None:
        super().__init__(window)
        self._docks = docks
        self._session = session
        self._more = list(more)
        self._since_input = QElapsedTimer()
        self._since_input.start()
        self._watched = window.windowHandle()
        if self._watched is not None:
            self._watched.installEventFilter(self)
        self._timer = QTimer(self)
        self._timer.setInterval(LOOK_EVERY)
        self._timer.timeout.connect(self._look)
        self._timer.start()

    @property
    def at_work(self) -> bool:
        """Whether anything is left to make."""
        return self._timer.isActive()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() in INPUT:
            self._since_input.restart()
        return False

    def _look(self) -> None:
        """Make the next one if nothing has happened for a while."""
        if self._session.jobs.current is not None:
            self._since_input.restart()
        busy = QApplication.activePopupWidget() or QApplication.activeModalWidget()
        if busy or self._since_input.elapsed() < QUIET:
            return
        unmade = (name for name in self._docks.by_id if self._docks.held(name) is None)
        name = next(unmade, None)
        if name is not None:
            self._docks.widget(name)
        elif self._more:
            self._more.pop(0)()
        else:
            self._timer.stop()
            if self._watched is not None:
                self._watched.removeEventFilter(self)
