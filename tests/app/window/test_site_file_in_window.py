"""A site file in the main window: saved from a folder, dropped on it, undone and done again."""

import sqlite3

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtWidgets import QFileDialog

from tests.app.invented_site import write_site
from viewer.app.window.main_window import MainWindow
from viewer.site_data.site_file.migrations import SCHEMA_VERSION
from viewer.state.keeping.site_import import import_steps
from viewer.state.keeping.site_notes import NewEntry
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.state.visit_opening import open_site
from viewer.widgets.controls.theme import Look


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return write_site(tmp_path_factory.mktemp("site") / "visits", strings=1, years=(2020, 2022))


@pytest.fixture
def session(qapp):
    return Session(open_site, Settings(theme="light"))


@pytest.fixture
def window(shown, session):
    return shown(MainWindow(session, Look(session.settings)), 1280, 720)


@pytest.fixture
def site_file(folder, tmp_path):
    path = tmp_path / "field.curvewright"
    for _ in import_steps(folder, path):
        pass
    return path


def enabled(window, name):
    return window.actions_by_id.qt[name].isEnabled()


def drop(window, path):
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    window.dropEvent(
        QDropEvent(
            QPointF(50, 50),
            Qt.DropAction.CopyAction,
            data,
            Qt.MouseButton.LeftButton,
            Qt.KeyboardModifier.NoModifier,
        )
    )


def test_an_open_folder_is_saved_as_a_site_file(window, session, folder, tmp_path, monkeypatch):
    assert not enabled(window, "save_site_file")
    session.open(folder)
    assert enabled(window, "save_site_file")
    assert not enabled(window, "import_folder")
    chosen = str(tmp_path / "kept")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_, **__: (chosen, ""))
    window.actions_by_id.qt["save_site_file"].trigger()
    assert session.folder == tmp_path / "kept.curvewright"
    assert len(session.results) == 4
    assert not enabled(window, "save_site_file")
    assert enabled(window, "import_folder")


def test_a_further_visit_is_imported(window, session, site_file, tmp_path, monkeypatch):
    session.open(site_file)
    more = write_site(tmp_path / "more", strings=1, years=(2024,))
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(more))
    window.actions_by_id.qt["import_folder"].trigger()
    assert len(session.results) == 6
    assert len(session.visits) == 3


def test_a_dropped_site_file_is_opened(window, session, site_file):
    drop(window, site_file)
    assert len(session.results) == 4
    assert session.notes.path == site_file


def test_ctrl_z_takes_back_and_ctrl_shift_z_does_again(window, session, site_file, qtbot):
    session.open(site_file)
    session.notes.add(NewEntry("note", "CB1", "S1", "label missing"))
    window.activateWindow()
    window.setFocus()
    qtbot.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert session.notes.kept.annotations == ()
    assert session.message.value == "Taken back: Note."
    both = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    qtbot.keyClick(window, Qt.Key.Key_Z, both)
    assert [one.text for one in session.notes.kept.annotations] == ["label missing"]
    assert not enabled(window, "redo")


def test_undo_is_off_for_a_folder(window, session, folder):
    session.open(folder)
    assert not enabled(window, "undo")
    assert not enabled(window, "redo")


def test_a_newer_file_says_so_in_the_status_line(window, session, site_file):
    connection = sqlite3.connect(site_file)
    connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION + 1}")
    connection.close()
    drop(window, site_file)
    assert "newer Curvewright" in window._message.text()
    assert session.results == ()


def test_a_long_sentence_does_not_widen_the_window(window, session):
    width = window.width()
    session.message.value = "A sentence that goes on. " * 30
    assert window.minimumSizeHint().width() <= width
    assert window._message.toolTip() == session.message.value
