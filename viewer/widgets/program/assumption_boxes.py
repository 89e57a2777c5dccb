"""Boxes for the numbers of one group of assumptions, each with its unit, limits and source."""

from dataclasses import replace
from typing import Any

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QDoubleSpinBox, QFormLayout, QLabel, QWidget

from viewer.state.program.assumptions import GROUPS, Assumption
from viewer.state.session import Session
from viewer.widgets.controls.number_box import number_box

OFF_BELOW = 1.0
"""How far under its least value a box shows "off", in shown units."""


class AssumptionBoxes:
    """`group` is a field of Settings; a number counts once it is entered, not while it is typed."""

    def __init__(self, group: str, session: Session, parent: QWidget) -> None:
        self.group = group
        self._session = session
        self._known = {one.name: one for one in GROUPS[group]}
        self.boxes = {name: self._box(one, parent) for name, one in self._known.items()}

    def _box(self, one: Assumption, parent: QWidget) -> QDoubleSpinBox:
        least, most = one.least * one.scale, one.most * one.scale
        decimals = 2 if one.unit == "%" else 1
        box = number_box(one.title, one.unit, least, most, least, decimals)
        box.setParent(parent)
        box.setKeyboardTracking(False)
        box.setSingleStep(0.1 if one.unit == "%" or most <= 50 else 1.0)
        box.setToolTip(f"Source: {one.source}")
        box.setAccessibleDescription(f"Source: {one.source}")
        if one.may_be_off:
            box.setMinimum(least - OFF_BELOW)
            box.setSpecialValueText("off")
        box.valueChanged.connect(lambda shown, known=one: self._entered(known, shown))
        return box

    def add_to(self, form: QFormLayout, parent: QWidget) -> None:
        for name, box in self.boxes.items():
            form.addRow(self._known[name].title, box)
            source = QLabel(f"Source: {self._known[name].source}.", parent)
            source.setWordWrap(True)
            form.addRow("", source)

    def show_values(self) -> None:
        record = getattr(self._session.settings.value, self.group)
        for name, box in self.boxes.items():
            value = getattr(record, name)
            with QSignalBlocker(box):
                shown = box.minimum() if value is None else value * self._known[name].scale
                box.setValue(shown)

    def _entered(self, one: Assumption, shown: float) -> None:
        value: float | None = round(shown / one.scale, 8)
        if shown < one.least * one.scale:
            off = shown <= one.least * one.scale - OFF_BELOW
            value = None if one.may_be_off and off else one.least
        settings = self._session.settings
        record: Any = getattr(settings.value, self.group)
        changed: dict[str, Any] = {self.group: replace(record, **{one.name: value})}
        settings.value = replace(settings.value, **changed)
