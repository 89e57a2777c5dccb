"""Two scenarios side by side, each with its curve, and the looks that tell them apart."""

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QComboBox, QFrame, QGridLayout, QLabel, QScrollArea, QWidget

from viewer.state.lesson.lesson import Lesson
from viewer.state.lesson.lesson_pair import LessonPair
from viewer.state.lesson.scenario_words import LOOKS, looks_of
from viewer.widgets.controls.binding import fill_choices, follow
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.lesson.lesson_plot import LessonPlot, ShownCurve, expected_curve
from viewer.widgets.lesson.lesson_size import LessonSize, heading_font
from viewer.widgets.lesson.scenario_knobs import ScenarioKnobs

PLOT_HEIGHT = 215
QUESTION_WIDTH = 150
MOST_GROWTH = 1.3
"""Plots grow less than letters in a presentation, so that the answers stay in sight."""
IN_THE_CURVE = "In the curve"


class ComparedSide(QWidget):
    """One scenario: its name, sliders, curve and power. The answers stand under it in a grid."""

    def __init__(
        self, pair: LessonPair, side: int, look: Look, size: LessonSize, parent: QWidget
    ) -> None:
        super().__init__(parent)
        self.pair = pair
        self.side = side
        self._size = size
        place = ("left", "right")[side]
        self.chooser = QComboBox(self)
        self.chooser.setAccessibleName(f"Scenario at the {place}")
        self.knobs = ScenarioKnobs(self)
        self.plot = LessonPlot(look, size, self)
        self.plot.setAccessibleName(f"Curve at the {place}")
        self.words = answer_cell("")
        self.answers = {question: answer_cell("") for _, question in LOOKS}
        self.answers[IN_THE_CURVE] = answer_cell("")
        names: list[tuple[str, object]] = [
            (one.name, key) for key, one in pair.lesson.scenarios.items()
        ]
        fill_choices(self.chooser, names, pair.sides[side].value.scenario.key)
        column = QGridLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        parts: tuple[QWidget, ...] = (self.chooser, self.plot, self.words, self.knobs)
        for row, widget in enumerate(parts):
            column.addWidget(widget, row, 0)
        column.setRowStretch(3, 1)
        self.chooser.activated.connect(self._chosen)
        self.knobs.severity_set.connect(self._severity_set)
        self.knobs.extent_set.connect(self._extent_set)
        follow(self, pair.sides[side].changed, self.show_side)

    def _chosen(self, place: int) -> None:
        self.pair.choose(self.side, self.chooser.itemData(place))

    def _severity_set(self, value: float) -> None:
        self.pair.change(self.side, severity=value)

    def _extent_set(self, value: float) -> None:
        self.pair.change(self.side, extent=value)

    def show_side(self, *_: object) -> None:
        setting = self.pair.sides[self.side].value
        self.knobs.show_setting(setting)
        self.plot.setFixedHeight(round(PLOT_HEIGHT * min(self._size.scale, MOST_GROWTH)))
        for question, answer in looks_of(setting.scenario):
            self.answers[question].setText(answer)
        self.answers[IN_THE_CURVE].setText("\n".join(setting.scenario.reasons))
        try:
            sim = self.pair.simulated(self.side)
        except (ValueError, RuntimeError) as problem:
            self.words.setText(f"No curve at these settings: {problem}")
            return
        expected = self.pair.lesson.expected_for(sim)
        curves = [
            expected_curve(expected),
            ShownCurve(sim.voltage, sim.current, self.side, sim.scenario.name),
        ]
        self.plot.show_curves(curves, room=self.pair.lesson.string.value.rated)
        best, whole = (float(np.max(one.voltage * one.current)) for one in (sim, expected))
        self.words.setText(
            f"{sim.poa_global:.0f} W/m², {sim.temperature_cell:.0f} °C. Pmp {best / 1000:.2f} kW, "
            f"{100 * best / whole:.1f} % of what is predicted."
        )


class LessonCompare(QWidget):
    """Shade beside dead cells at first; any two scenarios can be chosen."""

    def __init__(
        self, lesson: Lesson, look: Look, size: LessonSize, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._size = size
        self.pair = LessonPair(lesson)
        self.sides = [ComparedSide(self.pair, side, look, size, self) for side in (0, 1)]
        self._questions: list[QLabel] = []
        self._stale = True
        grid = QGridLayout()
        grid.setSpacing(MEDIUM)
        for side in self.sides:
            grid.setColumnStretch(side.side + 1, 1)
            grid.addWidget(side, 0, side.side + 1)
        for row, question in enumerate(self.sides[0].answers, start=1):
            label = answer_cell(question)
            label.setFont(heading_font())
            self._questions.append(label)
            grid.addWidget(label, row, 0)
            for side in self.sides:
                grid.addWidget(side.answers[question], row, side.side + 1)
        grid.setRowStretch(len(self._questions) + 1, 1)
        body = QWidget(self)
        body.setLayout(grid)
        scroll = QScrollArea(self)
        scroll.setWidget(body)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        outer = QGridLayout(self)
        outer.setContentsMargins(0, MEDIUM, 0, 0)
        outer.addWidget(scroll)
        follow(self, lesson.renewed, self._renew)
        follow(self, size.big.changed, self._renew)

    def _renew(self, *_: object) -> None:
        """Draw anew when it is looked at; the sliders are quicker while it is not."""
        self._stale = True
        if self.isVisible():
            self.show_both()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self._stale:
            self.show_both()

    def show_both(self) -> None:
        self._stale = False
        for label in self._questions:
            label.setFixedWidth(round(QUESTION_WIDTH * min(self._size.scale, MOST_GROWTH)))
        for side in self.sides:
            side.show_side()


def answer_cell(text: str) -> QLabel:
    label = QLabel(text)
    label.setWordWrap(True)
    label.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    label.setContentsMargins(SMALL, 0, SMALL, 0)
    return label
