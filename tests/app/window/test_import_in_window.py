"""Importing from the main window: its action, and what dropping a file or a folder does."""

from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent

from tests.invented_sweeps import semicolon_file, wide_file
from viewer.app.window.main_window import openable


def drop(window, paths: list[Path]) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    action, button = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton
    none = Qt.KeyboardModifier.NoModifier
    window.dropEvent(QDropEvent(QPointF(50, 50), action, data, button, none))


def test_the_action_opens_the_pane(window):
    window.actions_by_id.run("import_files")
    assert window.docks.by_id["import"].isVisible()
    assert window.pane("import").isVisible()


def test_dropped_tables_are_offered_for_import(window, session, tmp_path):
    before = session.folder
    drop(window, [semicolon_file(tmp_path / "S1.csv"), wide_file(tmp_path / "all.csv")])
    assert session.folder == before
    assert window.docks.by_id["import"].isVisible()
    assert len(window.pane("import").importing.files.by_name) == 2


@pytest.mark.parametrize("name", ["site.toml", "a.curvewright", "folder"])
def test_sites_are_opened_as_ever(window, session, tmp_path, name):
    path = tmp_path / name
    path.mkdir() if name == "folder" else path.write_bytes(b"")
    drop(window, [path])
    assert session.folder == (tmp_path if name == "site.toml" else path)
    assert not window.docks.by_id["import"].isVisible()


def test_what_is_no_site_is_not_opened(tmp_path):
    assert openable(semicolon_file(tmp_path / "S1.csv")) is None


def test_the_pane_makes_room_when_the_visit_is_opened(window, session, tmp_path):
    drop(window, [semicolon_file(tmp_path / "raw" / "C1" / "S1.csv")])
    importing = window.pane("import").importing
    importing.read()
    importing.write(tmp_path / "visit")
    assert session.folder == tmp_path / "visit"
    assert not window.docks.by_id["import"].isVisible()


def test_the_floating_pane_fits_the_screen(window):
    window.docks.show("import")
    dock = window.docks.by_id["import"]
    screen = window.screen().availableGeometry()
    assert screen.contains(dock.pos())
    assert dock.width() <= screen.width()
    assert dock.height() <= screen.height()
