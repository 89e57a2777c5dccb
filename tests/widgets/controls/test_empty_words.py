from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.widgets.controls.theme import Look
from viewer.widgets.strings.heat_grid import EMPTY, HeatGrid
from viewer.widgets.strings.string_list import StringList


def nothing_open():
    return Session(lambda _: iter(()), Settings(theme="light"))


def test_an_empty_list_says_what_will_stand_there(shown, qapp):
    session = nothing_open()
    strings = shown(StringList(session, Look(session.settings)), 500, 300)
    assert strings._empty.isVisible()
    assert strings._empty.text().startswith("Once a site is open")
    assert strings._empty.size() == strings.view.viewport().size()
    grid = shown(HeatGrid(session, Look(session.settings)), 500, 300)
    assert grid._empty.text() == EMPTY


def test_a_filter_that_nothing_passes_is_told(shown, session, look):
    strings = shown(StringList(session, look), 500, 300)
    assert not strings._empty.isVisible()
    strings.words.setText("no such word")
    strings.arrange()
    assert strings._empty.isVisible()
    assert strings._empty.text() == "No string passes the filter."
    strings.words.clear()
    strings.arrange()
    assert not strings._empty.isVisible()
