"""The lesson's first page: a scenario under sliders, its curve, and the string at the cursor."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QFormLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from viewer.state.lesson.lesson import IRRADIANCE, MOST_KEPT, TEMPERATURE, Lesson
from viewer.state.lesson.scenario_words import settings_line
from viewer.state.lesson.string_view import next_change, string_view
from viewer.widgets.controls.binding import fill_choices, follow
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.lesson.knob_slider import KnobSlider
from viewer.widgets.lesson.lesson_kept import KeptList
from viewer.widgets.lesson.lesson_plot import LessonPlot, ShownCurve, expected_curve
from viewer.widgets.lesson.lesson_size import LessonSize
from viewer.widgets.lesson.scenario_knobs import ScenarioKnobs
from viewer.widgets.lesson.string_schematic import StringSchematic

CONTROLS_WIDTH = 330


class LessonExplore(QWidget):
    def __init__(
        self, lesson: Lesson, look: Look, size: LessonSize, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.lesson = lesson
        self._size = size
        self.scenario = QComboBox(self)
        self.string = QComboBox(self)
        self.summary = _words()
        self.reasons = _words()
        self.readout = _words()
        self.irradiance = KnobSlider(IRRADIANCE, self)
        self.temperature = KnobSlider(TEMPERATURE, self)
        self.knobs = ScenarioKnobs(self)
        self.plot = LessonPlot(look, size, self).with_cursor()
        self.plot.setAccessibleName("Simulated curve with the cursor")
        self.schematic = StringSchematic(look, size, self)
        self.keep = QPushButton("Keep this curve", self)
        self.keep.setToolTip("Leave it on the plot with a letter while the sliders move on")
        self.at_maximum = QPushButton("To maximum power", self)
        self.at_maximum.setToolTip(
            "Put the cursor back on the maximum power point and keep it there"
        )
        self.kept = KeptList(lesson, look, self)
        self._lay_out()
        self._connect()
        self.resize_controls()
        self.fill_strings()
        self.fill_scenario()
        self.show_all()

    def _lay_out(self) -> None:
        self.scenario.setAccessibleName("Scenario")
        self.string.setAccessibleName("String")
        fill_choices(
            self.scenario,
            [(one.name, key) for key, one in self.lesson.scenarios.items()],
            self.lesson.setting.value.scenario.key,
        )
        form = QFormLayout()
        form.setSpacing(SMALL)
        form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        form.addRow("Scenario", self.scenario)
        form.addRow("String", self.string)
        for box in (self.scenario, self.string):
            box.setSizeAdjustPolicy(
                QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
            )
        column = QVBoxLayout()
        column.setSpacing(SMALL)
        column.addLayout(form)
        column.addWidget(self.summary)
        column.addWidget(self.knobs)
        column.addWidget(self.irradiance)
        column.addWidget(self.temperature)
        column.addWidget(self.keep)
        column.addWidget(self.kept)
        column.addWidget(self.reasons)
        column.addStretch(1)
        body = QWidget(self)
        body.setLayout(column)
        self.controls = QScrollArea(self)
        self.controls.setWidget(body)
        self.controls.setWidgetResizable(True)
        self.controls.setFrameShape(QFrame.Shape.NoFrame)
        self.controls.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        line = QHBoxLayout()
        line.addWidget(self.readout, 1)
        line.addWidget(self.at_maximum, 0, Qt.AlignmentFlag.AlignTop)
        self.parts = QSplitter(Qt.Orientation.Vertical, self)
        self.parts.addWidget(self.plot)
        self.parts.addWidget(self.schematic)
        self.parts.setStretchFactor(0, 2)
        self.parts.setStretchFactor(1, 1)
        self.parts.setSizes([440, 210])
        self.parts.setChildrenCollapsible(False)
        right = QVBoxLayout()
        right.setSpacing(SMALL)
        right.addWidget(self.parts, 1)
        right.addLayout(line)
        across = QHBoxLayout(self)
        across.setContentsMargins(0, MEDIUM, 0, 0)
        across.setSpacing(MEDIUM)
        across.addWidget(self.controls)
        across.addLayout(right, 1)

    def _connect(self) -> None:
        lesson = self.lesson
        self.scenario.activated.connect(self._scenario_chosen)
        self.string.activated.connect(self._string_chosen)
        self.knobs.severity_set.connect(self._severity_set)
        self.knobs.extent_set.connect(self._extent_set)
        self.irradiance.changed.connect(self._irradiance_set)
        self.temperature.changed.connect(self._temperature_set)
        self.keep.clicked.connect(self.keep_curve)
        self.at_maximum.clicked.connect(self._to_maximum)
        self.plot.pointed.connect(self._pointed)
        self.plot.stepped.connect(self._stepped)
        self.schematic.chosen.connect(self.group_chosen)
        follow(self, lesson.renewed, self.show_all)
        follow(self, lesson.cursor.changed, self.show_cursor)
        follow(self, lesson.kept.changed, self.show_all)
        follow(self, lesson.strings.changed, self.fill_strings)
        follow(self, lesson.string.changed, self.fill_strings)
        follow(self, lesson.setting.changed, self.fill_scenario)
        follow(self, self._size.big.changed, self.resize_controls)

    def resize_controls(self, *_: object) -> None:
        self.controls.setFixedWidth(round(CONTROLS_WIDTH * self._size.scale))

    def fill_strings(self, *_: object) -> None:
        choices: list[tuple[str, object]] = [
            (one.title, place) for place, one in enumerate(self.lesson.strings.value)
        ]
        now = self.lesson.strings.value.index(self.lesson.string.value)
        fill_choices(self.string, choices, now)

    def fill_scenario(self, *_: object) -> None:
        """Sliders and words of the chosen scenario, at what is set."""
        now = self.lesson.setting.value
        scenario = now.scenario
        self.scenario.setCurrentIndex(self.scenario.findData(scenario.key))
        self.summary.setText(scenario.summary)
        self.reasons.setText("\n".join(f"• {one}" for one in scenario.reasons))
        self.knobs.show_setting(now)
        for slider, value in (
            (self.irradiance, now.poa_global),
            (self.temperature, now.temperature_cell),
        ):
            if slider.value() != value:
                slider.show_value(value)

    def _scenario_chosen(self, place: int) -> None:
        self.lesson.choose(self.scenario.itemData(place))

    def _string_chosen(self, place: int) -> None:
        self.lesson.choose_string(self.lesson.strings.value[self.string.itemData(place)])
        self.fill_strings()

    def _severity_set(self, value: float) -> None:
        self.lesson.change(severity=value)

    def _extent_set(self, value: float) -> None:
        self.lesson.change(extent=value)

    def _irradiance_set(self, value: float) -> None:
        self.lesson.change(poa_global=value)

    def _temperature_set(self, value: float) -> None:
        self.lesson.change(temperature_cell=value)

    def keep_curve(self) -> None:
        self.lesson.keep()

    def _to_maximum(self) -> None:
        self.lesson.cursor.value = None

    def _pointed(self, voltage: float) -> None:
        self.lesson.point_to(self.lesson.simulated.point_at_voltage(voltage))

    def _stepped(self, by: int) -> None:
        self.lesson.point_to(self.lesson.point + by)

    def group_chosen(self, module: int, group: int) -> None:
        """Put the cursor where that group next changes what it does, and say what it does."""
        sim = self.lesson.simulated
        point = next_change(sim, module, group, self.lesson.point)
        if point is not None:
            self.lesson.point_to(point)
        view = string_view(sim, self.lesson.point)
        text = view.group_sentence(module, group)
        if point is None and sim.present[module]:
            text += " It does so all along the curve."
        self.readout.setText(f"{text}\n{view.sentence()}")

    def show_all(self, *_: object) -> None:
        """The curves, then what hangs on the cursor."""
        lesson = self.lesson
        sim, expected = lesson.simulated, lesson.expected
        curves = [
            expected_curve(expected),
            *(
                ShownCurve(
                    one.simulated.voltage,
                    one.simulated.current,
                    one.slot + 1,
                    one.simulated.scenario.name,
                    one.tag,
                )
                for one in lesson.kept.value
            ),
            ShownCurve(sim.voltage, sim.current, 0, sim.scenario.name),
        ]
        self.plot.show_curves(curves, room=lesson.string.value.rated)
        self.plot.setAccessibleDescription(settings_line(sim))
        self.keep.setEnabled(len(lesson.kept.value) < MOST_KEPT)
        self.show_cursor()

    def show_cursor(self, *_: object) -> None:
        view = string_view(self.lesson.simulated, self.lesson.point)
        self.plot.show_cursor(view.string_voltage, view.string_current)
        self.schematic.show_view(view)
        self.readout.setText(self.lesson.problem or view.sentence())


def _words() -> QLabel:
    label = QLabel()
    label.setWordWrap(True)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    return label
