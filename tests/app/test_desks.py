"""Desks put the panes of one kind of work on the table and the others away."""

import pytest
from pytestqt.qtbot import QtBot

from viewer.app.desks import DESKS
from viewer.app.main_window import MainWindow
from viewer.app.panes import PANES
from viewer.state.session import Session
from viewer.state.visit_opening import open_site
from viewer.widgets.theme import Look


@pytest.fixture
def window(qtbot: QtBot) -> MainWindow:
    session = Session(open_site)
    made = MainWindow(session, Look(session.settings))
    qtbot.addWidget(made)
    made.resize(1400, 900)
    made.show()
    return made


def test_every_docked_pane_lies_on_a_desk() -> None:
    on_desks = {pane for desk in DESKS for pane in desk.panes}
    assert {pane.id for pane in PANES if not pane.floating} <= on_desks
    assert on_desks <= {pane.id for pane in PANES}


@pytest.mark.parametrize("desk", DESKS, ids=lambda desk: desk.id)
def test_a_desk_shows_its_panes_alone(window: MainWindow, desk: object) -> None:
    window.actions_by_id.run(f"desk_{desk.id}")  # type: ignore[attr-defined]
    shown = {name for name, dock in window.docks.by_id.items() if not dock.isHidden()}
    assert shown == set(desk.panes)  # type: ignore[attr-defined]
    ticked = [one.id for one in DESKS if window.actions_by_id.qt[f"desk_{one.id}"].isChecked()]
    assert ticked == [desk.id]  # type: ignore[attr-defined]


def test_the_window_begins_with_the_first_desk(window: MainWindow) -> None:
    shown = {name for name, dock in window.docks.by_id.items() if not dock.isHidden()}
    assert shown == set(DESKS[0].panes)
