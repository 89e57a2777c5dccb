"""Keeps Python's search for forgotten objects from stopping the window where a site is large.

The search looks at everything that is alive: with 20,000 results it takes a second at a time. The
results hold no circles and go when the site is left, so that nothing is gained by looking at them.
What is young is searched as ever; everything is, not in the middle of any work, in a job's thread
or the window's, but when people have turned to another program.
"""

import gc

from PySide6.QtCore import QObject, Qt, QTimer
from PySide6.QtGui import QGuiApplication

from viewer.state.session import Arrival, Session
from viewer.widgets.controls.binding import follow

WORTH_IT = 500
"""Results that arrive before what is alive is left out of the search again."""
AFTER = 1000
"""Milliseconds for which another program must have been in front."""
HARDLY_EVER = 1000
"""Middle searches before Python begins a whole one by itself: millions of new objects."""


class CollectionPauses(QObject):
    """What is alive at the start, and when results have arrived, is left out of the search until
    the next site is opened."""

    def __init__(self, parent: QObject, session: Session) -> None:
        super().__init__(parent)
        self._new = 0
        follow(self, session.opened, self._begin_anew)
        follow(self, session.arrived, self._count)
        follow(self, session.loaded, self._leave_out)
        follow(self, session.years.changed, self._found_over_years)
        self._session = session
        gc.set_threshold(*gc.get_threshold()[:2], HARDLY_EVER)
        gc.freeze()
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self.search)
        application = QGuiApplication.instance()
        assert isinstance(application, QGuiApplication)
        application.applicationStateChanged.connect(self._turned)

    def _begin_anew(self, *_: object) -> None:
        """The site before is gone: whatever else was left out is searched again."""
        self._new = 0
        gc.unfreeze()

    def _count(self, arrival: Arrival) -> None:
        self._new += len(arrival.results)
        if self._new >= WORTH_IT:
            self._leave_out()

    def _found_over_years(self) -> None:
        found = self._session.years.found
        if found is not None and len(found.observed.observations) >= WORTH_IT:
            gc.freeze()

    def _turned(self, _: object) -> None:
        self._timer.start(AFTER)

    def search(self) -> None:
        """Through what is alive and not left out; not beside a job, nor under people's hands."""
        in_front = QGuiApplication.applicationState() == Qt.ApplicationState.ApplicationActive
        if self._session.jobs.current is None and not in_front:
            gc.collect()
            gc.freeze()

    def _leave_out(self, *_: object) -> None:
        if self._new:
            self._new = 0
            gc.freeze()
