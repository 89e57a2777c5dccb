import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from viewer.app.window import panes_ahead
from viewer.app.window.main_window import MainWindow
from viewer.app.window.panes_ahead import PanesAhead
from viewer.state.program.jobs import Job


@pytest.fixture
def window(shown, session, look, monkeypatch):
    monkeypatch.setattr(panes_ahead, "LOOK_EVERY", 20)
    monkeypatch.setattr(panes_ahead, "QUIET", 40)
    return shown(MainWindow(session, look), 1280, 720)


def unmade(window) -> list[str]:
    return [name for name, dock in window.docks.by_id.items() if dock.widget() is None]


def test_all_are_made_one_at_a_time_while_nothing_happens(window, session, qtbot):
    before = unmade(window)
    seen = [name for name, dock in window.docks.by_id.items() if dock.isVisible()]
    more: list[str] = []
    made: list[str] = []
    window.docks.made.connect(made.append)
    ahead = PanesAhead(window, window.docks, session, (lambda: more.append("lesson"),))
    assert made == []
    QTest.qWait(60)
    ahead._look()
    assert 0 < len(made) < len(before)
    count = len(made)
    ahead._look()
    assert len(made) == count + 1
    qtbot.waitUntil(lambda: not ahead.at_work, timeout=20000)
    assert made == before
    assert more == ["lesson"]
    assert [name for name, dock in window.docks.by_id.items() if dock.isVisible()] == seen


def test_people_who_do_something_are_not_disturbed(window, session, monkeypatch):
    monkeypatch.setattr(panes_ahead, "QUIET", 1000)
    before = unmade(window)
    PanesAhead(window, window.docks, session)
    for _ in range(15):
        QTest.keyClick(window.windowHandle(), Qt.Key.Key_Shift)
        QTest.qWait(100)
    assert unmade(window) == before


def test_nothing_is_made_beside_a_job(window, session):
    session.jobs.runner = lambda job: None
    session.jobs.start(Job("Opening", lambda: iter(()), lambda payloads: None))
    before = unmade(window)
    PanesAhead(window, window.docks, session)
    QTest.qWait(200)
    assert unmade(window) == before
