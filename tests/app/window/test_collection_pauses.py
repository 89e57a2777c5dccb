import gc
import weakref
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest

from tests.invented_results import InventedOpener, invented_visits
from viewer.app.window import collection_pauses
from viewer.app.window.collection_pauses import CollectionPauses
from viewer.state.program.jobs import Job, Outcome
from viewer.state.session import Session


@pytest.fixture(autouse=True)
def searched_again():
    usual = gc.get_threshold()
    yield
    gc.set_threshold(*usual)
    gc.unfreeze()


def test_what_a_site_brought_is_left_out_until_the_next_is_opened(window, session):
    pauses = CollectionPauses(window, session)
    session.open(Path("/invented"))
    assert gc.get_freeze_count() > 1000
    session.opener = InventedOpener([], problem="There is no site.toml here.")
    session.open(Path("/elsewhere"))
    assert gc.get_freeze_count() == 0
    assert pauses.parent() is window


def test_much_is_left_out_while_it_arrives(window, session):
    waiting = []
    CollectionPauses(window, session)
    assert gc.get_freeze_count() > 1000
    session.opener = InventedOpener(invented_visits(40, 10), batch=200)
    session.jobs.runner = waiting.append
    session.open(Path("/invented"))
    job = waiting[0]
    counts = []
    for step in job.steps():
        job.receive([step])
        counts.append(gc.get_freeze_count())
    assert counts[0] == counts[2] == 0
    assert counts[-1] > 1000


def test_results_do_not_outlive_their_site(window, session):
    """They hold no circles, so that they go without the search."""
    CollectionPauses(window, session)
    session.open(Path("/invented"))
    gc.disable()
    try:
        alive = Alive(session)
        assert alive.count() > 0
        session.opener = InventedOpener([], problem="There is no site.toml here.")
        session.open(Path("/elsewhere"))
        assert alive.count() == 0
    finally:
        gc.enable()


class Alive:
    def __init__(self, session: Session) -> None:
        self.known = [weakref.ref(one.trace) for one in session.results]

    def count(self) -> int:
        return sum(one() is not None for one in self.known)


def test_everything_is_searched_only_while_nobody_waits(window, session, monkeypatch):
    searched: list[bool] = []
    in_front = Qt.ApplicationState.ApplicationInactive
    monkeypatch.setattr(gc, "collect", lambda *_: searched.append(True))
    monkeypatch.setattr(QGuiApplication, "applicationState", lambda: in_front)
    monkeypatch.setattr(collection_pauses, "AFTER", 1)
    pauses = CollectionPauses(window, session)
    assert gc.get_threshold()[2] >= 1000
    session.jobs.runner = lambda job: None
    session.jobs.start(Job("Opening", lambda: iter(()), lambda payloads: None))
    pauses.search()
    assert searched == []
    session.jobs.current.end(Outcome("done"))
    in_front = Qt.ApplicationState.ApplicationActive
    pauses.search()
    assert searched == []
    in_front = Qt.ApplicationState.ApplicationInactive
    gc.unfreeze()
    QGuiApplication.instance().applicationStateChanged.emit(in_front)
    QTest.qWait(100)
    assert searched == [True]
    assert gc.get_freeze_count() > 1000
