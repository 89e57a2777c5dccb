"""Pictures of the current string in the pane of the findings: attach, drop, describe, undo."""

import shutil

import pytest
from PySide6.QtCore import QMimeData, QPoint, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent

from tests.app.invented_site import write_site
from tests.invented_pictures import TAKEN, picture_file
from tests.invented_results import InventedOpener, invented_visits
from viewer.app.command_line import run
from viewer.state.keeping.picture_store import pictures_at
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.state.visit_opening import open_site
from viewer.widgets.controls.theme import Look
from viewer.widgets.strings.findings_pane import FindingsPane

SHORT, OTHER = "2025/C1/S2.csv", "2025/C1/S1.csv"


@pytest.fixture
def folder_session(tmp_path):
    folder = tmp_path / "visits"
    folder.mkdir()
    made = Session(InventedOpener(invented_visits()), Settings(theme="light"))
    made.open(folder)
    made.selection.choose([SHORT])
    return made


@pytest.fixture(scope="module")
def imported(tmp_path_factory):
    folder = write_site(tmp_path_factory.mktemp("site") / "visits", strings=1, years=(2020, 2022))
    path = folder.parent / "field.curvewright"
    assert run(["import", str(folder), str(path), "--quiet"]) == 0
    return path


@pytest.fixture
def site_session(imported, tmp_path):
    path = shutil.copy(imported, tmp_path / imported.name)
    made = Session(open_site, Settings(theme="light"))
    made.open(path)
    made.selection.choose(["2022/CB1/S1.csv"])
    return made


@pytest.fixture(params=["folder_session", "site_session"])
def home(request):
    return request.getfixturevalue(request.param)


@pytest.fixture
def pane(shown, home):
    return shown(FindingsPane(home, Look(home.settings)), 900, 300)


def drop(pane, path):
    """As Qt hands it over; whether the pane took it."""
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    copy, left = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton
    none = Qt.KeyboardModifier.NoModifier
    enter = QDragEnterEvent(QPoint(50, 50), copy, data, left, none)
    enter.ignore()
    pane.dragEnterEvent(enter)
    if enter.isAccepted():
        pane.dropEvent(QDropEvent(QPoint(50, 50), copy, data, left, none))
    return enter.isAccepted()


def test_a_dropped_picture_is_shown_with_its_day_and_a_caption_can_be_typed(pane, home, tmp_path):
    row = pane.picture_row
    assert not row.thumbs.isVisible()
    assert not row.isVisible()
    assert row.attach.isVisible()
    assert "dropped here" in row.attach.toolTip()
    file = picture_file(tmp_path / "ir.jpg", taken=TAKEN)
    assert drop(pane, file)
    assert row.thumbs.isVisible()
    assert row.isVisible(), "the new picture is chosen, so that its caption can be typed"
    assert row.thumbs.item(0).text() == "ir.jpg\n2025-06-05"
    assert not row.thumbs.item(0).icon().isNull()
    assert home.undo_label == "Picture ir.jpg"
    row.caption.setText("hot cell")
    row.caption.editingFinished.emit()
    row.kind.setCurrentIndex(row.kind.findData("infrared"))
    row.kind.activated.emit(row.kind.currentIndex())
    assert row.thumbs.item(0).text() == "hot cell\n2025-06-05"
    (kept,) = pictures_at(home.folder).read()
    assert (kept.caption, kept.kind) == ("hot cell", "infrared")
    assert kept.place.trace == home.selection.current
    assert pictures_at(home.folder).content(kept) == file.read_bytes()


def test_every_step_is_taken_back_and_done_again(pane, home, tmp_path):
    row = pane.picture_row
    row.attach_files([picture_file(tmp_path / "a.png"), picture_file(tmp_path / "b.png")])
    assert home.undo_label == "2 pictures"
    assert [row.thumbs.item(k).text()[:5] for k in (0, 1)] == ["a.png", "b.png"]
    row.thumbs.setCurrentRow(0)
    row.remove.click()
    assert row.thumbs.count() == 1
    assert home.undo_label == "Remove a.png"
    home.undo()
    assert row.thumbs.count() == 2
    home.undo()
    assert row.thumbs.count() == 0
    assert not row.thumbs.isVisible()
    home.redo()
    assert row.thumbs.count() == 2


def test_another_string_has_its_own(pane, home, tmp_path):
    row = pane.picture_row
    row.attach_files([picture_file(tmp_path / "a.png")])
    here = home.selection.current
    other = next(
        one
        for one in home.results
        if one.trace.combiner != home.current.trace.combiner
        or one.trace.string != home.current.trace.string
    )
    home.selection.choose([other.trace.source])
    assert row.thumbs.count() == 0
    home.selection.choose([here])
    assert row.thumbs.count() == 1


def test_a_bad_file_is_one_sentence_and_nothing_is_kept(pane, home, tmp_path):
    bad = tmp_path / "photo.jpg"
    bad.write_text("no picture")
    assert drop(pane, bad)
    assert home.message.value.startswith("photo.jpg is not a picture that can be read")
    assert pictures_at(home.folder).read() == ()


def test_what_does_not_look_like_a_picture_is_left_to_the_window(pane, tmp_path):
    table = tmp_path / "sweep.csv"
    table.write_text("U;I\n")
    assert not drop(pane, table)


def test_a_picture_is_shown_large_in_a_window_beside(pane, home, tmp_path):
    row = pane.picture_row
    row.attach_files([picture_file(tmp_path / "a.png", size=(200, 100))])
    row.thumbs.setCurrentRow(0)
    row.enlarge()
    window = row.window_shown
    assert window.isVisible()
    assert not window.isModal()
    assert "a.png" in window.windowTitle()
    grabbed = window.grab().toImage()
    middle = grabbed.pixelColor(window.width() // 2, window.height() // 2)
    assert middle.red() > 200
    assert middle.blue() < 60
    window.close()


def test_the_list_of_pictures_that_is_broken_is_told(shown, folder_session):
    (folder_session.folder / "pictures.toml").write_text("picture = [oops")
    shown(FindingsPane(folder_session, Look(folder_session.settings)), 900, 300)
    assert "not valid TOML" in folder_session.message.value
