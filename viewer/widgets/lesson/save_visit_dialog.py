"""Asks how a scenario is to be saved as a visit folder, and saves it."""

from datetime import datetime
from pathlib import Path

from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QVBoxLayout,
    QWidget,
)

from viewer.analysis.lesson.simulated_visit import VisitPlan
from viewer.physics.nomenclature import counted
from viewer.state.lesson.lesson import Lesson
from viewer.state.lesson.lesson_visit import free_folder, write_visit
from viewer.state.lesson.scenario_words import settings_line
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.number_box import whole_box

MEASURED_AT = datetime(2025, 6, 21, 12, 0)
"""An invented day, the same every time, so that the same settings give the same files."""


class SaveVisitDialog(QDialog):
    """Stays open beside the lesson: what is saved is the scenario as it is set then."""

    def __init__(self, lesson: Lesson, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Save as traces")
        self._lesson = lesson
        self.beside = whole_box("Healthy strings beside it", 0, 30, 3)
        self.seed = whole_box("Seed of noise and of how modules differ", 0, 999_999, 1)
        self.hidden = QCheckBox("Leave the scenario's name out of the notes", self)
        self.words = QLabel(self)
        self.words.setWordWrap(True)
        follow(self, lesson.setting.changed, self._show_setting)
        follow(self, lesson.string.changed, self._show_setting)
        self._show_setting()
        form = QFormLayout()
        form.addRow("Healthy strings beside it", self.beside)
        form.addRow("Seed", self.seed)
        form.addRow("", self.hidden)
        buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel, self
        )
        buttons.button(QDialogButtonBox.StandardButton.Ok).setText("Choose a folder…")
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addWidget(self.words)
        column.addLayout(form)
        column.addWidget(buttons)

    def _show_setting(self, *_: object) -> None:
        self.words.setText(settings_line(self._lesson.simulated))

    def plan(self) -> VisitPlan:
        now, string = self._lesson.setting.value, self._lesson.string.value
        return VisitPlan(
            string.datasheet,
            string.modules_in_series,
            now.poa_global,
            now.temperature_cell,
            self.beside.value(),
            self.seed.value(),
            resistance=string.resistance,
            measured_at=MEASURED_AT,
            name_fault=not self.hidden.isChecked(),
        )

    def save(self, parent: Path) -> str:
        """Write a new folder under the parent; says in one sentence what came of it."""
        now = self._lesson.setting.value
        name = f"exercise_{self.seed.value()}" if self.hidden.isChecked() else now.scenario.key
        folder = free_folder(parent, name)
        try:
            written = write_visit(folder, now.scenario, now.severity, now.extent, self.plan())
        except (OSError, ValueError) as problem:
            return f"The visit was not saved: {problem}"
        return f"Saved {counted(len(written), 'simulated trace')} in {folder}."
