from pathlib import Path

import pytest

from tests.invented_results import InventedOpener, invented_visits
from viewer.state.actions import SESSION_ACTIONS, step_suspect
from viewer.state.session import Session

TABLE = {one.id: one for one in SESSION_ACTIONS}


@pytest.fixture
def session():
    opened = Session(InventedOpener(invented_visits()))
    opened.open(Path("/invented"))
    return opened


def do(session: Session, name: str) -> None:
    assert TABLE[name].enabled(session)
    TABLE[name].run(session)


def test_ids_are_unique_and_every_action_has_a_tip():
    assert len(TABLE) == len(SESSION_ACTIONS)
    assert all(one.tip for one in SESSION_ACTIONS)


def test_stepping_through_suspects_goes_round(session):
    first, second = session.suspects()
    session.selection.clear()
    step_suspect(session, 1)
    assert session.selection.ids == (first,)
    step_suspect(session, 1)
    assert session.selection.ids == (second,)
    step_suspect(session, 1)
    assert session.selection.ids == (first,)
    step_suspect(session, -1)
    assert session.selection.ids == (second,)


def test_selecting_the_combiner_takes_its_strings_of_the_shown_visit(session):
    current = session.selection.current
    do(session, "select_combiner")
    assert session.selection.ids == tuple(f"2025/C1/S{n}.csv" for n in range(1, 5))
    assert session.selection.current == current
    do(session, "keep_current")
    assert session.selection.ids == (current,)


def test_select_all_is_limited_to_the_shown_visit(session):
    do(session, "select_all")
    assert len(session.selection.ids) == 8
    assert all(one.startswith("2025/") for one in session.selection.ids)


def test_pin_is_a_tick(session):
    do(session, "pin")
    assert TABLE["pin"].checked is not None
    assert TABLE["pin"].checked(session)
    do(session, "pin")
    assert session.selection.pinned == ()
    assert not TABLE["unpin_all"].enabled(session)


def test_forms_exclude_each_other(session):
    do(session, "form_stc")
    ticked = [
        one.id for one in SESSION_ACTIONS if one.id.startswith("form") and one.checked(session)
    ]
    assert ticked == ["form_stc"]


@pytest.mark.parametrize("action", SESSION_ACTIONS, ids=lambda one: one.id)
def test_every_action_can_be_asked_for_with_nothing_open(action):
    session = Session(InventedOpener([]))
    action.enabled(session)
    action.run(session)
    assert session.selection.ids == ()
