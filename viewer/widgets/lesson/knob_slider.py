"""A slider with a box for the exact number, for one knob of a scenario."""

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QSlider, QWidget

from viewer.physics.cell_string.scenario import Knob
from viewer.widgets.controls.number_box import number_box
from viewer.widgets.controls.theme import MEDIUM, TIGHT

STEPS = 500


class KnobSlider(QWidget):
    """`changed` passes the value a person has set; `show_value` changes nothing else."""

    changed = Signal(float)

    def __init__(self, knob: Knob, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.knob = knob
        self.label = QLabel(knob.label, self)
        self.label.setWordWrap(True)
        self.slider = QSlider(Qt.Orientation.Horizontal, self)
        self.slider.setAccessibleName(knob.label)
        steps = round(knob.highest - knob.lowest) if knob.whole else STEPS
        self.slider.setRange(0, steps)
        self.slider.setPageStep(max(1, steps // 10))
        self.box = number_box(
            knob.label, knob.unit, knob.lowest, knob.highest, knob.start, decimals_of(knob)
        )
        self.box.setParent(self)
        self.box.setSingleStep(1.0 if knob.whole or knob.highest - knob.lowest >= 20 else 0.1)
        self.label.setBuddy(self.slider)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, TIGHT)
        grid.setVerticalSpacing(TIGHT)
        grid.setHorizontalSpacing(MEDIUM)
        grid.addWidget(self.label, 0, 0, 1, 2)
        grid.addWidget(self.slider, 1, 0)
        grid.addWidget(self.box, 1, 1)
        grid.setColumnStretch(0, 1)
        self.show_value(knob.start)
        self.slider.valueChanged.connect(self._slid)
        self.box.valueChanged.connect(self._typed)

    def value(self) -> float:
        return self.knob.held(self.box.value())

    def show_value(self, value: float) -> None:
        """Bring slider and box to the value, quietly."""
        held = self.knob.held(value)
        with QSignalBlocker(self.slider), QSignalBlocker(self.box):
            self.slider.setValue(round(self.knob.share_of(held) * self.slider.maximum()))
            self.box.setValue(held)
            self._name_unit(held)

    def _slid(self, place: int) -> None:
        with QSignalBlocker(self.box):
            self.box.setValue(self.knob.at_share(place / max(self.slider.maximum(), 1)))
            self._name_unit(self.box.value())
        self.changed.emit(self.value())

    def _typed(self, value: float) -> None:
        with QSignalBlocker(self.slider), QSignalBlocker(self.box):
            self.slider.setValue(round(self.knob.share_of(value) * self.slider.maximum()))
            self._name_unit(value)
        self.changed.emit(self.knob.held(value))

    def _name_unit(self, value: float) -> None:
        """One group, two groups: of what a knob counts the unit is a plural."""
        if self.knob.whole:
            unit = self.knob.unit.removesuffix("s") if value == 1.0 else self.knob.unit
            self.box.setSuffix(f" {unit}")


def decimals_of(knob: Knob) -> int:
    """As many digits as the knob's range asks for."""
    if knob.whole:
        return 0
    if knob.logarithmic or knob.highest - knob.lowest < 2:
        return 3
    return 0 if knob.highest - knob.lowest >= 500 else 1
