import re

import pytest

from viewer.app.window.panes import PANES
from viewer.state.actions import SESSION_ACTIONS
from viewer.widgets.program.help_pane import KEYS, HelpPane, help_pages


@pytest.fixture
def pane(shown, session, look):
    return shown(HelpPane(session, look), 560, 600)


def test_every_page_can_be_read(pane):
    for title in help_pages():
        pane.show_page(title)
        assert pane.words.toPlainText().splitlines()[0] == title
        assert len(pane.words.toPlainText()) > 200


def test_negative_numbers_of_the_pages_have_a_minus_sign(pane):
    for title, text in help_pages().items():
        assert not re.search(r"(?<![\w.,/-])-\d", text), title


def test_the_page_of_keys_lists_every_key_of_the_table(pane):
    pane.know_actions(SESSION_ACTIONS)
    pane.chooser.setCurrentText(KEYS)
    text = pane.words.toPlainText()
    for one in SESSION_ACTIONS:
        if one.shortcut:
            assert one.shortcut in text
            assert one.title in text


def test_the_page_of_keys_tells_the_keys_of_the_curves(pane):
    pane.show_page(KEYS)
    text = pane.words.toPlainText()
    for words in ("On the curves", "Page Up, Page Down", "Home, End", "Right, Up"):
        assert words in text


def test_keys_named_in_the_pages_exist():
    keys = {one.shortcut for one in SESSION_ACTIONS}
    keys |= {"Ctrl+O", "Ctrl+S", "Ctrl+Shift+S", "Ctrl+0", "Ctrl+I", "Ctrl+F6"}
    for text in help_pages().values():
        assert set(re.findall(r"Ctrl\+(?:Shift\+)?(?:F\d|\w)", text)) <= keys


@pytest.mark.parametrize("pane", [one for one in PANES if one.id != "help"], ids=lambda one: one.id)
def test_every_pane_has_a_page_of_its_title(pane):
    assert pane.title in help_pages()
