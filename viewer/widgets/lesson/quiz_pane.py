"""The quiz: points with field noise and a hidden name; the class decides; then the answer."""

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QFileDialog,
    QFormLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from viewer.state.lesson.lesson import Lesson
from viewer.state.lesson.quiz import Quiz
from viewer.state.session import Session
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.number_box import whole_box
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.lesson.lesson_plot import LessonPlot, ShownCurve, expected_curve
from viewer.widgets.lesson.lesson_size import LessonSize, heading_font

COLUMN_WIDTH = 380
START = "Press New quiz: the same seed gives the same questions to every class."


class QuizPane(QWidget):
    """Asks on the lesson's string; every point it shows is simulated, and it says so."""

    def __init__(
        self,
        session: Session,
        lesson: Lesson,
        look: Look,
        size: LessonSize,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._session = session
        self._lesson = lesson
        self._size = size
        self.quiz = Quiz()
        self.seed = whole_box("Seed of the quiz", 0, 999_999, 1)
        self.count = whole_box("Names to choose from", 2, len(lesson.scenarios), 4)
        self.begin = QPushButton("New quiz", self)
        self.further = QPushButton("Next question", self)
        self.export = QPushButton("Export results…", self)
        self.title = QLabel(self)
        self.verdict = QLabel(self)
        self.reasons = QLabel(START, self)
        self.score = QLabel(self)
        self.choices: dict[str, QPushButton] = {}
        self._choices_at = QVBoxLayout()
        self.plot = LessonPlot(look, size, self)
        self.plot.setAccessibleName("Points of the quiz")
        self._lay_out()
        self.begin.clicked.connect(self.start)
        self.further.clicked.connect(self.quiz.next)
        self.export.clicked.connect(self.ask_where)
        follow(self, self.quiz.changed, self.show_question)
        follow(self, size.big.changed, self.dress)
        self.dress()
        self.show_question()

    def _lay_out(self) -> None:
        form = QFormLayout()
        form.setSpacing(SMALL)
        form.addRow("Seed", self.seed)
        form.addRow("Names to choose from", self.count)
        for label in (self.title, self.verdict):
            label.setFont(heading_font())
        for label in (self.title, self.verdict, self.reasons, self.score):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        buttons = QHBoxLayout()
        buttons.addWidget(self.begin)
        buttons.addWidget(self.further)
        column = QVBoxLayout()
        column.setSpacing(MEDIUM)
        column.addLayout(form)
        column.addLayout(buttons)
        column.addWidget(self.title)
        column.addLayout(self._choices_at)
        column.addWidget(self.verdict)
        column.addWidget(self.reasons)
        column.addStretch(1)
        last = QHBoxLayout()
        last.addWidget(self.score, 1)
        last.addWidget(self.export)
        body = QWidget(self)
        body.setLayout(column)
        self.side = QScrollArea(self)
        self.side.setWidget(body)
        self.side.setWidgetResizable(True)
        self.side.setFrameShape(QFrame.Shape.NoFrame)
        self.side.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        left = QVBoxLayout()
        left.addWidget(self.side, 1)
        left.addLayout(last)
        across = QHBoxLayout(self)
        across.setContentsMargins(0, MEDIUM, 0, 0)
        across.setSpacing(MEDIUM)
        across.addLayout(left)
        across.addWidget(self.plot, 1)

    def dress(self, *_: object) -> None:
        self.side.setFixedWidth(round(COLUMN_WIDTH * self._size.scale))
        for button in self.choices.values():
            button.setFont(self._size.font())  # a widget with a style sheet follows no other's font

    def start(self) -> None:
        """A new quiz on the lesson's string with the seed that is set."""
        try:
            self.quiz.start(self._lesson.string.value, self.seed.value(), self.count.value())
        except (ValueError, RuntimeError) as problem:
            self._session.message.value = f"The quiz could not start: {problem}"

    def show_question(self, *_: object) -> None:
        question = self.quiz.question
        self.further.setEnabled(question is not None)
        self.export.setEnabled(bool(self.quiz.rows))
        self.score.setText(self.quiz.score_text if question else "")
        self._show_choices()
        self.verdict.setText(self.quiz.verdict())
        self.verdict.setVisible(bool(self.quiz.chosen))
        if question is None:
            return
        sweep, expected = question.sweep, question.expected
        self.title.setText(
            f"Question {question.number}: what is wrong with this string? (Simulated; recorded "
            f"{sweep.poa_global:.0f} W/m², {sweep.temperature_cell:.1f} °C)"
        )
        curves = [expected_curve(expected)]
        if self.quiz.chosen is not None:
            sim = question.answer
            curves.append(ShownCurve(sim.voltage, sim.current, 1, sim.scenario.name))
            self.reasons.setText("\n".join(f"• {one}" for one in question.reasons))
        else:
            self.reasons.setText("")
        self.plot.show_curves(curves, (sweep.voltage, sweep.current))

    def _show_choices(self) -> None:
        """A button a name, numbered; after the decision the right and the wrong are marked."""
        question, chosen = self.quiz.question, self.quiz.chosen
        offered = question.choices if question else ()
        if list(self.choices) != [one.key for one in offered]:
            while (item := self._choices_at.takeAt(0)) is not None:
                widget = item.widget()
                if widget is not None:
                    widget.hide()
                    widget.deleteLater()
            self.choices = {}
            for one in offered:
                button = QPushButton(self)
                button.setStyleSheet("text-align: left; padding: 5px 8px")
                button.setFont(self._size.font())
                button.clicked.connect(lambda _=False, key=one.key: self.quiz.answer(key))
                self.choices[one.key] = button
                self._choices_at.addWidget(button)
        right = question.answer.scenario.key if question else ""
        for number, one in enumerate(offered, start=1):
            mark = ""
            if chosen is not None:
                mark = "✓ " if one.key == right else "✗ " if one.key == chosen else ""
            self.choices[one.key].setText(f"{mark}{number}  {one.name}")
            self.choices[one.key].setEnabled(chosen is None)

    def ask_where(self) -> None:
        proposed = str(Path.home() / f"quiz_{self.seed.value()}.csv")
        chosen, _ = QFileDialog.getSaveFileName(
            self, "Export results", proposed, "CSV table (*.csv)"
        )
        if chosen:
            path = Path(chosen)
            self.save(path if path.suffix else path.with_suffix(".csv"))

    def save(self, path: Path) -> None:
        try:
            self.quiz.save(path)
        except OSError as problem:
            self._session.message.value = f"{path.name} was not saved: {problem}"
        else:
            self._session.message.value = f"Saved {path}."
