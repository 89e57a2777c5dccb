"""Keeps Python's search for forgotten objects from stopping the window where a site is large.

The search looks at everything that is alive: with 20,000 results it takes a second at a time. The
results hold no circles and go when the site is left, so that nothing is gained by looking at them.
"""

import gc

from PySide6.QtCore import QObject

from viewer.state.session import Arrival, Session
from viewer.widgets.binding import follow

WORTH_IT = 500
"""Results that arrive before what is alive is left out of the search again."""


class CollectionPauses(QObject):
    """What is alive at the start, and when results have arrived, is left out of the search until
    the next site is opened."""

    def __init__(self, parent: QObject, session: Session) -> None:
        super().__init__(parent)
        self._new = 0
        follow(self, session.opened, self._begin_anew)
        follow(self, session.arrived, self._count)
        follow(self, session.loaded, self._leave_out)
        gc.freeze()

    def _begin_anew(self, *_: object) -> None:
        """The site before is gone: whatever else was left out is searched again."""
        self._new = 0
        gc.unfreeze()

    def _count(self, arrival: Arrival) -> None:
        self._new += len(arrival.results)
        if self._new >= WORTH_IT:
            self._leave_out()

    def _leave_out(self, *_: object) -> None:
        if self._new:
            self._new = 0
            gc.freeze()
