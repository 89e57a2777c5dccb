"""However desks, the lesson and single panes come and go, there is one tab bar for each group."""

import random

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QTabBar

from viewer.app.window.desks import DESKS
from viewer.app.window.main_window import MainWindow
from viewer.app.window.pane_docks import BOTTOM_SHARE, LEFT_SHARE

STEPS = 120


def bars_in_sight(window: MainWindow) -> list[frozenset[str]]:
    """The titles on each tab bar between the docks that people can see any of."""
    options = Qt.FindChildOption.FindDirectChildrenOnly
    return sorted(
        (
            frozenset(bar.tabText(place) for place in range(bar.count()))
            for bar in window.findChildren(QTabBar, options=options)
            if bar.isVisible() and bar.geometry().intersects(window.rect())
        ),
        key=sorted,
    )


def groups_in_sight(window: MainWindow) -> list[frozenset[str]]:
    """The titles of the docks that share a place."""
    found = set()
    for dock in window.docks.by_id.values():
        others = window.tabifiedDockWidgets(dock)
        if others and not dock.isHidden() and not dock.isFloating():
            found.add(frozenset(one.windowTitle() for one in (dock, *others)))
    return sorted(found, key=sorted)


def check(window: MainWindow, done: list[str]) -> None:
    QApplication.processEvents()
    assert bars_in_sight(window) == groups_in_sight(window), done[-4:]


def places(window: MainWindow) -> dict[str, tuple[int, ...]]:
    """Where the panes in sight lie, and the middle."""
    QApplication.processEvents()
    seen = {
        name: (*dock.geometry().getRect(), len(window.tabifiedDockWidgets(dock)))
        for name, dock in window.docks.by_id.items()
        if not (dock.isHidden() or dock.isFloating() or dock.visibleRegion().isEmpty())
    }
    seen["middle"] = window.centralWidget().geometry().getRect()
    return seen


def do_anything(window: MainWindow, dice: random.Random) -> str:
    """One thing a user does to the panes; returns what."""
    name, dock = dice.choice(list(window.docks.by_id.items()))
    deed = dice.choice(("desk", "desk", "desk", "toggle", "float", "dock", "lesson", "reset"))
    if deed == "desk":
        name = dice.choice(DESKS).id
        window.actions_by_id.run(f"desk_{name}")
    elif deed == "toggle":
        dock.setVisible(dock.isHidden())
    elif deed == "lesson":
        window.actions_by_id.run("lesson")
    elif deed == "reset":
        window.actions_by_id.run("default_layout")
    else:
        dock.setFloating(deed == "float")
    return f"{deed} {name}"


def test_there_is_no_stray_bar_at_first(window):
    check(window, ["start"])
    assert len(bars_in_sight(window)) == 1


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_every_bar_belongs_to_docks_that_share_a_place(window, seed):
    dice, done = random.Random(seed), []
    for _ in range(STEPS):
        done.append(do_anything(window, dice))
        check(window, done)


def test_every_desk_looks_as_at_first_after_default_layout(window):
    first = {}
    for desk in DESKS:
        window.actions_by_id.run(f"desk_{desk.id}")
        first[desk.id] = places(window)
    dice = random.Random(4)
    for _ in range(40):
        do_anything(window, dice)
    for desk in DESKS:
        window.actions_by_id.run(f"desk_{desk.id}")
        window.actions_by_id.run("default_layout")
        now = places(window)
        assert set(now) == set(first[desk.id]), desk.id
        for name, place in now.items():  # Qt shares out a remainder of a few pixels at will
            assert place == pytest.approx(first[desk.id][name], abs=3), (desk.id, name)
        assert window.desks.current.value == desk.id


def test_a_layout_survives_the_next_start(window, session, look, shown):
    window.actions_by_id.run("desk_years")
    window.docks.by_id["strings"].hide()
    window.docks.by_id["notes"].setFloating(True)
    window.addDockWidget(Qt.DockWidgetArea.RightDockWidgetArea, window.docks.by_id["changes"])
    before = places(window)
    window.close()
    again = shown(MainWindow(session, look), 1280, 720)
    assert places(again) == before
    check(again, ["started again"])
    for desk in DESKS:
        again.actions_by_id.run(f"desk_{desk.id}")
        check(again, [desk.id])


def test_a_layout_that_cannot_be_read_leaves_the_panes(window):
    before = set(places(window))
    window.docks.put_back(window.saveState(99))
    assert set(places(window)) == before
    check(window, ["put back"])


def test_places_have_their_shares_of_the_window_at_first(window):
    QApplication.processEvents()
    left = window.docks.by_id["strings"]
    assert left.width() == pytest.approx(LEFT_SHARE * window.width(), abs=3)
    assert window.docks.lower_share() == pytest.approx(BOTTOM_SHARE, abs=0.02)
