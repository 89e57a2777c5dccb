import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from viewer.state.actions import SESSION_ACTIONS
from viewer.state.command_search import matching
from viewer.widgets.controls.action_menus import ActionSet
from viewer.widgets.program.command_finder import CommandFinder


@pytest.fixture
def finder(shown, session, look):
    window = shown(QWidget())
    actions = ActionSet(SESSION_ACTIONS, session, look, window)
    made = CommandFinder(actions, session, window)
    made.open()
    return made


def test_all_words_must_occur_and_titles_that_begin_so_come_first():
    found = [one.id for one in matching(SESSION_ACTIONS, "sus")]
    assert set(found) == {"next_suspect", "previous_suspect", "select_suspects"}
    assert [one.id for one in matching(SESSION_ACTIONS, "next sus")] == ["next_suspect"]
    assert matching(SESSION_ACTIONS, "pin")[0].title.lower().startswith("pin")
    assert matching(SESSION_ACTIONS, "no such thing") == ()
    assert len(matching(SESSION_ACTIONS, "")) == len(SESSION_ACTIONS)


def test_typing_and_return_run_a_command(finder, session, qtbot):
    qtbot.keyClicks(finder.words, "translated")
    qtbot.keyClick(finder.words, Qt.Key.Key_Return)
    assert session.choices.form.value == "stc"
    assert not finder.isVisible()


def test_arrows_choose_while_the_words_keep_the_keyboard(finder, session, qtbot):
    qtbot.keyClicks(finder.words, "curves")
    first = finder.list.currentItem().text()
    qtbot.keyClick(finder.words, Qt.Key.Key_Down)
    assert finder.list.currentItem().text() != first


def test_what_cannot_be_done_now_is_not_run(finder, session, qtbot):
    session.selection.clear()
    finder.search("Hide all")
    qtbot.keyClick(finder.words, Qt.Key.Key_Return)
    assert finder.isVisible()
