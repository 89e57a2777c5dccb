"""The quiz under way: its questions, what was chosen, the score, and the results as a table."""

import csv
from pathlib import Path

from viewer.analysis.lesson.fault_quiz import (
    QuizQuestion,
    QuizRow,
    answered,
    draw_question,
    score,
    settings_text,
)
from viewer.site_data.cell_text import plain_cell
from viewer.site_data.scenario_file import scenarios
from viewer.site_data.whole_file import drafted
from viewer.state.lesson.lesson_strings import LessonString
from viewer.state.program.notifier import Notifier

HEADINGS = (
    "question",
    "seed",
    "string",
    "poa_global [W/m2]",
    "temperature_cell [C]",
    "answer",
    "answer in words",
    "settings",
    "chosen",
    "chosen in words",
    "right",
    "data",
)
ORIGIN = "simulated, not measured"


class Quiz:
    """One quiz; the same string, seed and number of choices give the same questions."""

    def __init__(self) -> None:
        self.scenarios = scenarios()
        self.changed = Notifier()
        self.question: QuizQuestion | None = None
        self.chosen: str | None = None
        self._answered: list[tuple[QuizQuestion, QuizRow]] = []
        self._string: LessonString | None = None
        self._seed = 1
        self._choices = 4

    @property
    def rows(self) -> tuple[QuizRow, ...]:
        return tuple(row for _, row in self._answered)

    @property
    def score_text(self) -> str:
        right, total = score(self.rows)
        return f"{right} of {total} right" if total else "no answer yet"

    def start(self, string: LessonString, seed: int, choices: int = 4) -> None:
        """Begin anew. Raises ValueError in words for a string that cannot be simulated."""
        self._string, self._seed, self._choices = string, seed, choices
        self._answered = []
        self._draw(1)

    def next(self) -> None:
        """The next question; one that was not answered is passed over and not counted."""
        if self.question is not None:
            self._draw(self.question.number + 1)

    def _draw(self, number: int) -> None:
        assert self._string is not None
        self.question = draw_question(
            self.scenarios, self._string.makeup, self._seed, number, self._choices
        )
        self.chosen = None
        self.changed.notify()

    def answer(self, key: str) -> None:
        """The class has decided; only the first decision counts."""
        if self.question is None or self.chosen is not None:
            return
        self.chosen = key
        self._answered.append((self.question, answered(self.question, key)))
        self.changed.notify()

    def verdict(self) -> str:
        """Right or not, in words; empty while nothing is chosen."""
        if self.question is None or self.chosen is None:
            return ""
        name = self.question.answer.scenario.name
        if self.chosen == self.question.answer.scenario.key:
            return f"Right: “{name}”."
        return f"Not “{self.scenarios[self.chosen].name}”: it is “{name}”."

    def save(self, path: Path) -> None:
        """Write the answered questions as CSV, UTF-8 (RFC 4180). Raises OSError."""
        with drafted(path) as draft, draft.open("w", encoding="utf-8", newline="") as stream:
            writer = csv.writer(stream)
            writer.writerow(HEADINGS)
            writer.writerows(self._line(question, row) for question, row in self._answered)

    def _line(self, question: QuizQuestion, row: QuizRow) -> list[str]:
        assert self._string is not None
        return [
            str(row.number),
            str(row.seed),
            plain_cell(self._string.title),
            f"{question.sweep.poa_global:.1f}",
            f"{question.sweep.temperature_cell:.1f}",
            row.answer,
            plain_cell(question.answer.scenario.name),
            plain_cell(settings_text(question.answer)),
            row.chosen,
            plain_cell(self.scenarios[row.chosen].name),
            "yes" if row.right else "no",
            ORIGIN,
        ]
