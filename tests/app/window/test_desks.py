"""Desks put the panes of one kind of work on the table and the others away."""

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from viewer.app.window.desks import DESKS
from viewer.app.window.main_window import MainWindow
from viewer.app.window.panes import PANES
from viewer.state.session import Session
from viewer.state.visit_opening import open_site
from viewer.widgets.controls.theme import Look


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


def test_one_desk_is_ticked_however_it_was_opened(window: MainWindow) -> None:
    def ticked() -> list[str]:
        names = [f"desk_{one.id}" for one in DESKS] + ["lesson"]
        return [name for name in names if window.actions_by_id.qt[name].isChecked()]

    window.desks.open("years")
    assert ticked() == ["desk_years"]
    window.lesson.open()
    assert ticked() == ["lesson"]
    window.lesson.leave()
    assert ticked() == ["desk_years"]


def test_a_desk_remembers_the_height_its_panes_were_pulled_to(window: MainWindow) -> None:
    settled = QApplication.processEvents
    window.desks.open("report")
    settled()
    assert window.docks.lower_share() == pytest.approx(0.55, abs=0.01)
    window.docks.give_lower_share(0.45)
    settled()
    window.desks.open("years")
    settled()
    assert window.docks.lower_share() == pytest.approx(0.52, abs=0.01)
    window.desks.open("report")
    settled()
    assert window.docks.lower_share() == pytest.approx(0.45, abs=0.01)


def test_the_window_begins_with_the_first_desk(window: MainWindow) -> None:
    shown = {name for name, dock in window.docks.by_id.items() if not dock.isHidden()}
    assert shown == set(DESKS[0].panes)


def test_a_desk_makes_no_pane_of_another(window: MainWindow) -> None:
    QApplication.processEvents()
    made: list[str] = []
    window.docks.made.connect(made.append)
    for name in ("years", "report", "modules", "before_visit"):
        desk = next(one for one in DESKS if one.id == name)
        made.clear()
        window.desks.open(name)
        QApplication.processEvents()
        assert set(made) <= set(desk.panes)
