import pytest
from PySide6.QtWidgets import QMenuBar, QWidget

from viewer.state.actions import SESSION_ACTIONS, Action
from viewer.widgets.controls.action_menus import ActionSet, DuplicateKeyError, check_keys


@pytest.fixture
def parent(qtbot):
    widget = QWidget()
    qtbot.addWidget(widget)
    return widget


@pytest.fixture
def actions(parent, session, look):
    return ActionSet(SESSION_ACTIONS, session, look, parent)


def test_one_key_for_two_actions_is_refused():
    one = Action("one", "One", "File", lambda session: None, "Ctrl+1")
    other = Action("other", "Other", "File", lambda session: None, "ctrl+1")
    with pytest.raises(DuplicateKeyError, match="one and other"):
        check_keys([one, other])


def test_ticks_and_enabling_follow_the_session(actions, session):
    assert actions.qt["form_measured"].isChecked()
    session.choices.form.value = "stc"
    assert actions.qt["form_stc"].isChecked()
    assert not actions.qt["form_measured"].isChecked()
    assert not actions.qt["unpin_all"].isEnabled()
    actions.qt["pin"].trigger()
    assert actions.qt["unpin_all"].isEnabled()
    session.selection.clear()
    assert not actions.qt["pin"].isEnabled()


def test_menus_hold_every_action_of_theirs(actions, qtbot):
    bar = QMenuBar()
    qtbot.addWidget(bar)
    actions.fill(bar, ("&Strings", "&Curves"))
    titles = [one.text() for one in bar.actions()[0].menu().actions() if not one.isSeparator()]
    assert titles == [one.title for one in SESSION_ACTIONS if one.menu == "Strings"]


def test_groups_stand_together_and_settings_and_quit_end_their_menu(parent, session, look, qtbot):
    def one(name, group):
        return Action(name, name.title(), "File", lambda session: None, group=group)

    table = [
        *(one("open", "open"), one("settings", "settings"), one("quit", "quit")),
        *(one("save", "save"), one("open again", "open"), one("undo", "undo")),
    ]
    bar = QMenuBar()
    qtbot.addWidget(bar)
    menu = ActionSet(table, session, look, parent).fill(bar, ("&File",))["File"]
    titles = ["|" if one.isSeparator() else one.text() for one in menu.actions()]
    assert " ".join(titles) == "Open Open Again | Save | Undo | Settings | Quit"
