from dataclasses import replace

from PySide6.QtWidgets import QPushButton

from tests.invented_results import InventedOpener
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.widgets.controls.theme import Look
from viewer.widgets.program.start_page import StartPage


def buttons(page):
    return {one.text(): one for one in page.findChildren(QPushButton) if one.text()}


def test_doors_act_and_recent_folders_that_are_gone_are_left_out(shown, qapp, tmp_path, qtbot):
    here = tmp_path / "visit"
    here.mkdir()
    session = Session(
        InventedOpener([]), Settings(recent_folders=(str(here), str(tmp_path / "gone")))
    )
    acted: list[str] = []
    doors = (("Open…", "a folder", lambda: acted.append("open")),)
    page = shown(StartPage(session, Look(session.settings), doors))
    assert set(buttons(page)) == {"Open…", str(here)}
    buttons(page)["Open…"].click()
    assert acted == ["open"]
    buttons(page)[str(here)].click()
    assert session.folder == here


def test_why_a_folder_could_not_be_opened_is_said_on_the_page(shown, session, look):
    page = shown(StartPage(session, look, ()))
    session.message.value = "There is no site.toml in /x."
    assert page.problem.text() == "There is no site.toml in /x."


def test_the_list_of_recent_folders_follows_the_settings(shown, session, look, tmp_path):
    page = shown(StartPage(session, look, ()))
    session.settings.value = replace(session.settings.value, recent_folders=(str(tmp_path),))
    assert str(tmp_path) in buttons(page)
