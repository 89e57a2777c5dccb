from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent, QKeyEvent
from PySide6.QtWidgets import QApplication

from tests.invented_pictures import picture_file
from tests.invented_results import BAD_FILE, InventedOpener, invented_visits
from viewer.app.window.main_window import MainWindow
from viewer.app.window.panes import PANES
from viewer.state.keeping.picture_store import pictures_at
from viewer.state.program.settings import Settings
from viewer.state.session import Session


def click_grid(window, qtbot, row, column, modifier=Qt.KeyboardModifier.NoModifier):
    grid = window.pane("heat_grid")
    box = grid.view.visualRect(grid.model.index(row, column))
    qtbot.mouseClick(grid.view.viewport(), Qt.MouseButton.LeftButton, modifier, box.center())


def test_one_click_in_the_heat_grid_moves_every_pane(window, session, qtbot):
    click_grid(window, qtbot, 3, 4)
    trace_id = "2025/C1/S4.csv"
    result = session.result(trace_id)
    assert session.selection.ids == (trace_id,)
    strings = window.pane("strings")
    rows = {index.row() for index in strings.view.selectedIndexes()}
    assert [strings.model.trace_of(row) for row in rows] == [trace_id]
    points = window.pane("key_points")
    assert points.title.text() == "C1 S4, 2025-06-05"
    assert points.model.index(0, 0).data() == f"{result.measured.i_sc:.3f}"
    drawn = [one for one in window.plot.canvas.figure.panels[0].series if one.role == "measured"]
    assert [one.trace_id for one in drawn] == [trace_id]
    on_top = window.plot.canvas.panels["iv"].picture.lines[-1]
    assert np.array_equal(on_top.y, result.measured_curve.current)
    assert next(text for text, _ in window.plot.legend.entries()) == "C1 S4"


def test_the_keyboard_begins_in_the_list_and_goes_from_string_to_string(window, session, qtbot):
    strings = window.pane("strings")
    assert window.focusWidget() is strings.view
    before = session.selection.current, session.choices.visit.value
    qtbot.keyClick(window.focusWidget(), Qt.Key.Key_Down)
    assert session.selection.current != before[0]
    assert session.choices.visit.value == before[1]


def test_the_keyboard_goes_from_the_ways_to_begin_to_the_list(shown, look):
    session = Session(InventedOpener(invented_visits()), Settings(theme="light"))
    window = shown(MainWindow(session, look), 1280, 720)
    assert window.focusWidget().text() == "Open a visit folder…"
    session.open(Path("/invented/visit"))
    assert window.focusWidget() is window.pane("strings").view


def test_escape_puts_the_help_away_while_it_is_a_window_of_its_own(window, qtbot):
    window.actions_by_id.run("help")
    dock = window.docks.by_id["help"]
    assert dock.isFloating()
    assert dock.isVisible()
    qtbot.keyClick(window.pane("help").words, Qt.Key.Key_Escape)
    assert not dock.isVisible()
    dock.setFloating(False)
    window.actions_by_id.run("help")
    qtbot.keyClick(window.pane("help").words, Qt.Key.Key_Escape)
    assert dock.isVisible()


def test_control_click_overlays_strings(window, session, qtbot):
    click_grid(window, qtbot, 0, 0)
    click_grid(window, qtbot, 2, 5, Qt.KeyboardModifier.ControlModifier)
    assert session.selection.ids == ("2025/C1/S1.csv", "2025/C1/S3.csv")
    assert len(window.plot.canvas.figure.labels()) == 2


def test_every_pane_of_the_table_has_a_dock_and_a_line_in_view(window):
    assert set(window.docks.by_id) == {pane.id for pane in PANES}
    view = next(one.menu() for one in window.menuBar().actions() if one.text() == "&View")
    titles = {one.text() for one in view.actions()}
    assert {"Strings", "Heat-grid", "Key points and conditions"} <= titles


def test_unreadable_files_are_named_with_their_sentence(window):
    table = window.pane("unreadable").table
    assert table.item(0, 0).text() == BAD_FILE.source
    assert table.item(0, 1).text() == BAD_FILE.problem
    assert window.docks.by_id["unreadable"].windowTitle() == "Unreadable files (1)"


def test_the_layout_is_remembered(window, session, look, shown):
    window.docks.by_id["strings"].hide()
    window.close()
    kept = session.settings.value
    assert kept.window_layout
    again = shown(MainWindow(session, look), 1280, 720)
    assert not again.docks.by_id["strings"].isVisible()
    assert again.docks.by_id["heat_grid"].isVisible()


def test_a_layout_that_cannot_be_read_is_left_aside(session, look, shown):
    session.settings.value = replace(
        session.settings.value, window_layout="bm9uc2Vuc2U=", window_geometry="%%%"
    )
    window = shown(MainWindow(session, look), 1280, 720)
    assert window.docks.by_id["strings"].isVisible()


def drop(window, path: Path) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    window.dropEvent(
        QDropEvent(
            QPointF(QPoint(50, 50)),
            Qt.DropAction.CopyAction,
            data,
            Qt.MouseButton.LeftButton,
            Qt.KeyboardModifier.NoModifier,
        )
    )


def test_a_dropped_folder_is_opened(window, session, tmp_path):
    drop(window, tmp_path)
    assert session.folder == tmp_path
    assert session.settings.value.recent_folders[0] == str(tmp_path)


def test_a_dropped_site_toml_stands_for_its_folder(window, session, tmp_path):
    (tmp_path / "site.toml").write_text("", encoding="utf-8")
    drop(window, tmp_path / "site.toml")
    assert session.folder == tmp_path


@pytest.mark.parametrize("suffix", [".png", ".svg"])
def test_the_plot_is_exported_as_it_is_shown(window, session, tmp_path, monkeypatch, suffix):
    from PySide6.QtWidgets import QFileDialog

    path = tmp_path / f"curves{suffix}"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))
    window.actions_by_id.run("export")
    assert path.stat().st_size > 1000
    assert session.message.value == f"Saved {path}."


def test_the_table_is_exported(window, session, tmp_path, monkeypatch):
    from PySide6.QtWidgets import QFileDialog

    path = tmp_path / "points"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))
    window.actions_by_id.run("export_table")
    lines = (tmp_path / "points.csv").read_text(encoding="utf-8").splitlines()
    assert len(lines) == 1 + 8


def test_what_cannot_be_saved_is_said_in_the_status_line(window, session, tmp_path, monkeypatch):
    from PySide6.QtWidgets import QFileDialog

    path = tmp_path / "nowhere" / "curves.png"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))
    window.actions_by_id.run("export")
    assert session.message.value.startswith("curves.png was not saved: ")


def test_the_title_names_the_site(window):
    assert window.windowTitle() == "Invented site – Curvewright"


def test_next_suspect_by_its_key(window, session, qtbot):
    session.selection.clear()
    qtbot.keyClick(window, Qt.Key.Key_F8)
    assert session.selection.ids == (session.suspects()[0],)


UNDO = {"undo", "redo"}
"""In a line edit these undo its typing, as everywhere."""


def test_every_key_reaches_its_action_while_the_filter_has_the_keyboard(window, qtbot):
    """Line edits take some keys for themselves: none of the window's may be among them."""
    words = window.pane("strings").words
    words.setFocus()
    for action in window.actions_by_id.qt.values():
        key = action.shortcut()
        if key.isEmpty() or action.objectName() in UNDO:
            continue
        pressed = key[0]
        event = QKeyEvent(QEvent.Type.ShortcutOverride, pressed.key(), pressed.keyboardModifiers())
        event.ignore()
        QApplication.sendEvent(words, event)
        assert not event.isAccepted(), key.toString()


def test_a_picture_dropped_anywhere_goes_to_the_string_and_its_pane_comes_up(shown, look, tmp_path):
    folder = tmp_path / "visits"
    folder.mkdir()
    session = Session(InventedOpener(invented_visits()), Settings(theme="light"))
    window = shown(MainWindow(session, look), 1280, 720)
    session.open(folder)
    drop(window, picture_file(tmp_path / "ir.png"))
    (kept,) = pictures_at(folder).read()
    assert kept.place.trace == session.selection.current
    assert window.pane("findings").picture_row.thumbs.isVisible()
