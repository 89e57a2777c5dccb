"""All preferences in one place: a control for each, made from what each says about itself."""

from dataclasses import Field, fields, replace
from pathlib import Path
from typing import Any

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import (
    QComboBox,
    QDoubleSpinBox,
    QFileDialog,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from viewer.state.program.assumptions import GROUPS
from viewer.state.program.settings import Settings, read_settings, write_settings
from viewer.state.session import Session
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.number_box import NumberBox
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.program.assumption_boxes import AssumptionBoxes

Control = QComboBox | QDoubleSpinBox | QSpinBox | QLineEdit


class SettingsPane(QWidget):
    """Settings that are kept without being chosen, such as the layout, have no control."""

    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.controls: dict[str, Control] = {}
        form = QFormLayout()
        form.setVerticalSpacing(SMALL)
        for one in fields(Settings):
            control = self._control(one)
            if control is not None:
                control.setToolTip(one.metadata["meaning"])
                control.setAccessibleName(one.metadata["title"])
                control.setAccessibleDescription(one.metadata["meaning"])
                form.addRow(one.metadata["title"], control)
                meaning = QLabel(one.metadata["meaning"], self)
                meaning.setWordWrap(True)
                form.addRow("", meaning)
                self.controls[one.name] = control
        self.groups = {name: AssumptionBoxes(name, session, self) for name in GROUPS}
        for one in fields(Settings):
            if one.name in self.groups:
                heading = QLabel(
                    f"<b>{one.metadata['title']}</b><br>{one.metadata['meaning']}", self
                )
                heading.setWordWrap(True)
                form.addRow(heading)
                self.groups[one.name].add_to(form, self)
        body = QWidget(self)
        body.setLayout(form)
        scroll = QScrollArea(self)
        scroll.setWidget(body)
        scroll.setWidgetResizable(True)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.addWidget(scroll, 1)
        column.addLayout(self._buttons())
        follow(self, session.settings.changed, self.show_settings)
        self.show_settings()

    def _buttons(self) -> QHBoxLayout:
        row = QHBoxLayout()
        for title, tip, act in (
            ("Defaults", "Set everything here back to the defaults", self.reset),
            ("Import…", "Take the settings from a TOML file", self.import_file),
            ("Export…", "Write what differs from the defaults to a TOML file", self.export_file),
        ):
            button = QPushButton(title, self)
            button.setToolTip(tip)
            button.clicked.connect(act)
            row.addWidget(button)
        row.addStretch(1)
        return row

    def _control(self, one: Field) -> Control | None:
        limits = one.metadata
        if "choices" in limits:
            box = QComboBox(self)
            for choice in limits["choices"]:
                box.addItem(choice if isinstance(choice, str) else f"{choice:g}", choice)
            box.activated.connect(lambda _, name=one.name: self._changed(name))
            return box
        if limits.get("text"):
            line = QLineEdit(self)
            line.editingFinished.connect(lambda name=one.name: self._changed(name))
            return line
        if "least" not in limits:
            return None
        if isinstance(one.default, int):
            whole = QSpinBox(self)
            whole.setRange(limits["least"], limits["most"])
            whole.valueChanged.connect(lambda _, name=one.name: self._changed(name))
            return whole
        spin = NumberBox(self)
        spin.setRange(limits["least"], limits["most"])
        spin.setDecimals(limits.get("decimals", 2 if limits["most"] <= 1 else 1))
        spin.setSpecialValueText(limits.get("zero", ""))
        spin.setSingleStep(0.01 if limits["most"] <= 1 else 1.0)
        spin.valueChanged.connect(lambda _, name=one.name: self._changed(name))
        return spin

    def show_settings(self, *_: object) -> None:
        for name, control in self.controls.items():
            value = getattr(self._session.settings.value, name)
            with QSignalBlocker(control):
                if isinstance(control, QComboBox):
                    control.setCurrentIndex(control.findData(value))
                elif isinstance(control, QLineEdit):
                    control.setText(value)
                else:
                    control.setValue(value)
        for boxes in self.groups.values():
            boxes.show_values()

    def _changed(self, name: str) -> None:
        control = self.controls[name]
        changed: dict[str, Any] = {name: _held(control)}
        settings = self._session.settings
        settings.value = replace(settings.value, **changed)

    def reset(self) -> None:
        self._take(Settings())

    def _take(self, other: Settings) -> None:
        """The other settings, but for what is kept without being chosen."""
        settings = self._session.settings
        settings.value = replace(settings.value, **self._chosen(other))

    def _chosen(self, settings: Settings) -> dict[str, Any]:
        """What has a control here: all but what is kept without being chosen."""
        return {name: getattr(settings, name) for name in (*self.controls, *self.groups)}

    def import_file(self) -> None:
        chosen, _ = QFileDialog.getOpenFileName(self, "Import settings", "", "TOML (*.toml)")
        if chosen:
            settings, problems = read_settings(Path(chosen))
            self._take(settings)
            self._session.message.value = " ".join(problems) or f"Settings taken from {chosen}."

    def export_file(self) -> None:
        chosen, _ = QFileDialog.getSaveFileName(
            self, "Export settings", "curvewright.toml", "TOML (*.toml)"
        )
        if not chosen:
            return
        now = self._session.settings.value
        try:
            write_settings(Path(chosen), replace(Settings(), **self._chosen(now)))
        except OSError as problem:
            self._session.message.value = f"The settings were not saved: {problem}"
        else:
            self._session.message.value = f"Settings saved in {chosen}."


def _held(control: Control) -> object:
    if isinstance(control, QComboBox):
        return control.currentData()
    return control.text().strip() if isinstance(control, QLineEdit) else control.value()
