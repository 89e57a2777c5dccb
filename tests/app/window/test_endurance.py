"""A random user on the whole window: nothing is raised, nothing goes out of step, nothing grows."""

import sys

from PySide6.QtWidgets import QFileDialog

from tests.random_user import RandomUser

ACTIONS = 200
"""bench_endurance does 2,000 and times them; here it is a daily dose."""


def test_whatever_a_user_does_the_panes_agree(window, session, tmp_path, monkeypatch):
    user = RandomUser(window, session, tmp_path, seed=1)
    raised: list[BaseException] = []
    monkeypatch.setattr(sys, "excepthook", lambda kind, problem, trace: raised.append(problem))
    for name in ("getSaveFileName", "getOpenFileName"):
        monkeypatch.setattr(QFileDialog, name, lambda *_, **__: (user.chosen_path(), "(*.png)"))
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_, **__: user.chosen_path())
    listeners = len(session.selection.changed)
    done = []
    for _ in range(ACTIONS):
        done.append(user.act()[0])
        assert not raised, done[-3:]
        check_agreement(window, session)
    assert len(session.selection.changed) <= listeners + len(window.docks.by_id)


def check_agreement(window, session):
    selection = session.selection
    assert selection.current is None or selection.current in selection.ids
    for pane in ("strings", "heat_grid"):
        view = window.pane(pane).view
        rows = {index.row() for index in view.selectionModel().selectedIndexes()}
        shown = {view.model().trace_of(row) for row in rows} - {None}
        listed = {view.model().trace_of(row) for row in range(view.model().rowCount())} - {None}
        assert shown == listed & set(selection.ids), pane
    drawn = {one.trace_id for panel in window.plot.canvas.figure.panels for one in panel.series}
    assert drawn <= set(selection.shown)
