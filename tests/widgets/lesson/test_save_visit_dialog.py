from PySide6.QtWidgets import QFileDialog

from viewer.site_data.site_toml import FILE_NAME
from viewer.state.lesson.lesson import Lesson
from viewer.widgets.lesson.lesson_pane import LessonPane
from viewer.widgets.lesson.save_visit_dialog import SaveVisitDialog


def test_a_scenario_is_saved_as_a_visit_folder(qtbot, tmp_path):
    lesson = Lesson()
    lesson.choose("dead_cell")
    dialog = SaveVisitDialog(lesson)
    qtbot.addWidget(dialog)
    dialog.beside.setValue(2)
    said = dialog.save(tmp_path)
    assert said == f"Saved 3 simulated traces in {tmp_path / 'dead_cell'}."
    assert (tmp_path / "dead_cell" / FILE_NAME).is_file()
    texts = [one.read_text(encoding="utf-8") for one in (tmp_path / "dead_cell").rglob("*.csv")]
    assert len(texts) == 3
    assert all("Simulated, not measured." in text for text in texts)
    assert sum("Scenario dead_cell" in text for text in texts) == 1


def test_a_hidden_scenario_is_named_neither_in_notes_nor_in_the_folder(qtbot, tmp_path):
    lesson = Lesson()
    lesson.choose("dead_cell")
    dialog = SaveVisitDialog(lesson)
    qtbot.addWidget(dialog)
    dialog.hidden.setChecked(True)
    dialog.save(tmp_path)
    folder = next(tmp_path.iterdir())
    assert folder.name == "exercise_1"
    assert not any("dead" in one.read_text(encoding="utf-8") for one in folder.rglob("*.*"))


def test_a_place_that_cannot_be_written_is_said(qtbot, tmp_path):
    dialog = SaveVisitDialog(Lesson())
    qtbot.addWidget(dialog)
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert dialog.save(tmp_path / "file").startswith("The visit was not saved:")


def test_it_stays_beside_the_lesson_and_follows_it(shown, session, look, monkeypatch, tmp_path):
    pane = shown(LessonPane(session, look), 1200, 700)
    pane.lesson.choose("dead_cell")
    pane.save.click()
    dialog = pane.findChild(SaveVisitDialog)
    assert dialog.isVisible()
    assert not dialog.isModal()
    before = dialog.words.text()
    pane.lesson.choose("uniform_soiling")
    assert dialog.words.text() != before
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(tmp_path))
    dialog.accept()
    assert "simulated traces in" in session.message.value
    pane.save.click()
    assert pane.findChildren(SaveVisitDialog) == [dialog]
    assert dialog.isVisible()
