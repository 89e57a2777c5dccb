"""The sliders of one scenario: how bad it is and, where it has one, how far it reaches."""

from collections.abc import Callable

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from viewer.physics.cell_string.scenario import Knob
from viewer.state.lesson.lesson import Setting
from viewer.widgets.lesson.knob_slider import KnobSlider


class ScenarioKnobs(QWidget):
    """`severity_set` and `extent_set` pass what a person sets."""

    severity_set = Signal(float)
    extent_set = Signal(float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.severity: KnobSlider | None = None
        self.extent: KnobSlider | None = None
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(0)

    def show_setting(self, setting: Setting) -> None:
        """The sliders of that setting's scenario, kept while the scenario is the same."""
        scenario = setting.scenario
        self.severity = self._knob(self.severity, scenario.severity, self.severity_set.emit)
        self.extent = self._knob(self.extent, scenario.extent, self.extent_set.emit)
        for slider, value in ((self.severity, setting.severity), (self.extent, setting.extent)):
            if slider is not None and value is not None and slider.value() != value:
                slider.show_value(value)

    def _knob(
        self, before: KnobSlider | None, knob: Knob | None, tell: Callable[[float], None]
    ) -> KnobSlider | None:
        if before is not None and before.knob == knob:
            return before
        if before is not None:
            self._column.removeWidget(before)
            before.hide()
            before.deleteLater()
        if knob is None:
            return None
        made = KnobSlider(knob, self)
        made.changed.connect(tell)
        self._column.addWidget(made)
        return made
