from viewer.site_data.site_toml import FILE_NAME
from viewer.state.lesson import Lesson
from viewer.widgets.save_visit_dialog import SaveVisitDialog


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
