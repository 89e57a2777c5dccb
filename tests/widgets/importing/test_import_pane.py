"""The import pane: what is dropped is shown as it would be read, corrected, read and opened."""

from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtWidgets import QFileDialog

from tests.invented_sweeps import (
    log_file,
    semicolon_file,
    unnamed_file,
    wide_file,
    workbook_file,
)
from viewer.state.importing.import_rows import FAILED
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.state.visit_opening import open_site
from viewer.widgets.controls.theme import Look
from viewer.widgets.importing.import_pane import ImportPane


@pytest.fixture
def session() -> Session:
    return Session(open_site, Settings(theme="light"))


@pytest.fixture
def pane(shown, session: Session, qapp) -> ImportPane:
    look = Look(session.settings)
    made = shown(ImportPane(session, look), 1180, 680)
    made.kept_look = look
    return made


def drop(widget, paths: list[Path]) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    action, button = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton
    none = Qt.KeyboardModifier.NoModifier
    widget.dropEvent(QDropEvent(QPointF(50, 50), action, data, button, none))


def headings(pane: ImportPane) -> list[str]:
    model = pane.table.model
    return [
        model.headerData(one, Qt.Orientation.Horizontal).split("\n")[1]
        for one in range(model.columnCount())
    ]


def cells(pane: ImportPane, place: int) -> list[str]:
    model = pane.list.view.model()
    return [model.index(place, one).data() for one in range(model.columnCount())]


def choose(box, data: object) -> None:
    box.setCurrentIndex(box.findData(data))
    box.activated.emit(box.currentIndex())


def test_dropped_files_are_shown_as_they_would_be_read(pane, tmp_path) -> None:
    assert pane.list.invitation.isVisible()
    drop(pane, [semicolon_file(tmp_path / "C1" / "S1.csv")])
    assert not pane.list.invitation.isVisible()
    assert headings(pane) == ["Voltage (V)", "Current (A)"]
    assert pane.table.model.index(0, 0).data() == "0,000"
    assert pane.table.model.headerData(0, Qt.Orientation.Vertical) == 6  # its line in the file
    assert len(pane.curves.listDataItems()) == 1
    said = pane.words.toPlainText()
    assert "irradiance 812 W/m²" in said
    assert "Column 1 'Spannung' is the voltage: its name says so and its unit is V." in said
    assert "line 2, Modultemperatur (°C): 45,3" in said
    row = pane.form.fields["measured_at"]
    assert row.kind.currentData() == "keys"
    assert row.where.currentText().startswith("Zeitstempel")
    assert cells(pane, 0)[1] == "Waiting"


def test_a_wide_table_and_a_workbook(pane, tmp_path) -> None:
    drop(pane, [wide_file(tmp_path / "all.csv"), workbook_file(tmp_path / "book.xlsx")])
    assert headings(pane) == [
        "Voltage (V)",
        "Current (A), S1",
        "Current (A), S2",
        "Current (A), S3",
    ]
    assert len(pane.curves.listDataItems()) == 3
    pane.list.view.selectRow(1)
    assert headings(pane) == ["Voltage (mV)", "Current (A)"]
    assert pane.table.chooser.isVisible()
    assert "sheet 'S2'" in pane.table.chooser.itemText(1)
    assert pane.curves.listDataItems()[0].getData()[0][-1] == 708.0


def test_a_heading_is_asked_what_its_column_is(pane, tmp_path) -> None:
    drop(pane, [unnamed_file(tmp_path / "S1.csv")])
    assert headings(pane) == ["–", "Current (A)", "Voltage (V)"]
    assert "To look at" in pane.words.toPlainText()
    menu = pane.table.menu(0)
    assert [one.text() for one in menu.actions() if one.isChecked()] == ["Not used"]
    next(one for one in menu.actions() if one.text() == "Note").trigger()
    assert headings(pane) == ["Note", "Current (A)", "Voltage (V)"]
    assert pane.same_for_all.isChecked()
    assert 'note]\ncolumn = "point"' in pane.text.text.toPlainText()
    assert "note" in pane.importing.recipe.recipe.value.fields


def test_the_form_corrects_and_the_preview_follows(pane, tmp_path) -> None:
    drop(pane, [semicolon_file(tmp_path / "C1" / "S1.csv")])
    choose(pane.form.units["voltage"], "mV")
    assert headings(pane)[0] == "Voltage (mV)"
    assert pane.curves.listDataItems()[0].getData()[0].max() == pytest.approx(0.708)
    choose(pane.form.columns["voltage"], 1)  # the two are exchanged
    assert headings(pane) == ["Current (A)", "Voltage (V)"]
    row = pane.form.fields["poa_global"]
    choose(row.kind, "value")
    row.where.setEditText("650")
    assert "irradiance 650 W/m²" in pane.words.toPlainText()
    choose(row.kind, "")
    assert "irradiance" not in pane.words.toPlainText().split("Understood")[0]


def test_a_pattern_for_the_path_is_tried_as_typed(pane, tmp_path) -> None:
    drop(pane, [semicolon_file(tmp_path / "C1" / "S1_x.csv")])
    pane.form.paths.setPlainText(r"(?P<combiner>[^/]+)/(?P<string>[^/_")
    assert "is wrong" in pane.form.path_said.text()
    assert pane.importing.recipe.recipe.value is None
    pane.form.paths.setPlainText(r"(?P<combiner>[^/]+)/(?P<string>[^/_]+)_")
    assert pane.form.path_said.text() == "From C1/S1_x.csv: Combiner C1, String S1."
    assert "C1 S1, 60 points" in pane.words.toPlainText()
    pane.form.paths.setPlainText("(?P<string>nothing)")
    assert "fits the pattern" in pane.form.path_said.text()


def test_a_mistake_in_the_text_is_one_sentence_as_typed(pane, tmp_path, qtbot) -> None:
    drop(pane, [semicolon_file(tmp_path / "S1.csv")])
    pane._tabs.setCurrentWidget(pane.text)
    text = pane.text.text.toPlainText()
    pane.text.text.setPlainText(text.replace('unit = "V"', 'unit = "A"'))
    qtbot.waitUntil(pane.text.problem.isVisible, timeout=2000)
    assert "unit 'A' of voltage of curve 1 is not a unit of voltage" in pane.text.problem.text()
    assert headings(pane)[0] == "Voltage (V)"
    pane.text.text.setPlainText(text.replace('unit = "V"', 'unit = "kV"'))
    pane.text.check()
    assert not pane.text.problem.isVisible()
    assert headings(pane)[0] == "Voltage (kV)"
    assert pane.form.units["voltage"].currentData() == "kV"


def test_other_rules_for_the_text_and_back(pane, tmp_path) -> None:
    drop(pane, [semicolon_file(tmp_path / "S1.csv")])
    choose(pane.form.decimal, ".")
    assert pane.importing.recipe.recipe.value.text.decimal == "."
    pane.same_for_all.click()
    assert pane.importing.recipe.recipe.value is None
    assert pane.form.decimal.currentData() == ","


def test_what_was_read_doubtful_and_failed_is_listed(pane, tmp_path) -> None:
    semicolon_file(tmp_path / "S1.csv")
    unnamed_file(tmp_path / "S2.csv")
    (tmp_path / "S3.csv").write_text("V,I\n0,9\n1,x\n2,7\n3,6\n4,5\n5,4\n", encoding="utf-8")
    (tmp_path / "S4.csv").write_bytes((tmp_path / "S1.csv").read_bytes())
    drop(pane, [tmp_path])
    assert pane.read.text() == "Read 4"
    assert not pane.write.isEnabled()
    pane.read.click()
    assert [cells(pane, one)[1] for one in range(4)] == ["Read", "To look at", "Not read", "Copy"]
    assert "S3.csv, line 3" in cells(pane, 2)[3]
    assert pane.write.isEnabled()
    choose(pane.list.filter, FAILED)
    assert pane.list.view.model().rowCount() == 1
    (tmp_path / "S3.csv").write_text("V,I\n0,9\n1,8\n2,7\n3,6\n4,5\n5,4\n", encoding="utf-8")
    assert pane.retry.text() == "Retry failed (1)"
    pane.retry.click()
    assert pane.list.filter.findData(FAILED) == -1
    assert pane.list.view.model().rowCount() == 4
    pane.clear.click()
    assert pane.list.view.model().rowCount() == 0
    assert pane.table.model.columnCount() == 0


def test_progress_and_cancel(pane, session, tmp_path) -> None:
    for number in range(4):
        semicolon_file(tmp_path / f"S{number}.csv", 1 - number / 10)
    drop(pane, [tmp_path])
    jobs = []
    session.jobs.runner = jobs.append
    pane.read.click()
    assert pane.progress.isVisible()
    assert not pane.read.isEnabled()
    (job,) = jobs
    steps = list(job.steps())
    job.receive(steps[:2])
    assert pane.progress.value() == 2
    assert pane.progress.format().startswith("%v of %m, about")
    assert pane.read.text() == "Read 2"
    pane.cancel.click()
    job.receive(steps[2:])
    assert job.cancelled
    assert pane.read.text() == "Read 2"


def test_the_visit_is_written_with_the_log_and_opened(pane, session, tmp_path, monkeypatch) -> None:
    drop(pane, [semicolon_file(tmp_path / "raw" / "C1" / "S1.csv")])
    pane.read.click()
    pane.log.path.setText(str(log_file(tmp_path / "log.csv")))
    pane.log.replace.setChecked(True)
    pane.log.test.click()
    assert "Traces with a reading: 1 of 1." in pane.log.said.text()
    visit = tmp_path / "visit"
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(visit))
    pane.write.click()
    assert session.folder == visit
    (result,) = session.results
    assert result.trace.conditions.poa_global == pytest.approx(715.5)
    assert result.trace.string == "S1"


def test_a_watched_folder(pane, tmp_path, monkeypatch) -> None:
    card = tmp_path / "card"
    semicolon_file(card / "C1" / "S1.csv")
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(card))
    pane.watch.click()
    assert pane.watch.text() == "Watching card"
    assert pane._timer.isActive()
    semicolon_file(card / "C1" / "S2.csv", 0.9)
    pane._timer.timeout.emit()
    pane._timer.timeout.emit()
    assert [cells(pane, one)[1] for one in range(2)] == ["Waiting", "Read"]
    assert pane.importing.recipe.current.value == "C1/S2.csv"
    pane.watch.click()
    assert not pane._timer.isActive()
    assert pane.watch.text() == "Watch a folder…"


def test_watching_nothing_when_no_folder_is_chosen(pane, monkeypatch) -> None:
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: "")
    pane.watch.click()
    assert not pane.watch.isChecked()
    assert not pane._timer.isActive()


def test_a_recipe_is_saved_and_loaded(pane, tmp_path, monkeypatch) -> None:
    drop(pane, [semicolon_file(tmp_path / "S1.csv")])
    path = tmp_path / "r.toml"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(tmp_path / "r"), ""))
    pane._save()
    assert path.is_file()
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(path), ""))
    pane._load()
    assert pane.same_for_all.isChecked()
    assert pane.said.text() == "Every file is read by r.toml."
