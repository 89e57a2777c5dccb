import csv

import numpy as np
import pytest
from PySide6.QtCore import Qt

from viewer.state.lesson.lesson import Lesson
from viewer.widgets.lesson.lesson_size import LessonSize
from viewer.widgets.lesson.quiz_pane import QuizPane


@pytest.fixture
def pane(shown, session, look):
    lesson = Lesson()
    made = shown(QuizPane(session, lesson, look, LessonSize(lesson.big)), 1100, 700)
    made.seed.setValue(4)
    made.begin.click()
    return made


def everything_said(pane):
    """All words on the page but those of the buttons to choose from."""
    said = [pane.title.text(), pane.verdict.text(), pane.reasons.text(), pane.score.text()]
    return " ".join([*said, *(label.text for _, label in pane.plot._legend.items)])


def test_the_answer_is_hidden_until_the_class_has_decided(pane):
    name = pane.quiz.question.answer.scenario.name
    assert name not in everything_said(pane)
    assert "Simulated" in pane.title.text()
    pane.choices[pane.quiz.question.answer.scenario.key].click()
    assert pane.verdict.text() == f"Right: “{name}”."
    for reason in pane.quiz.question.reasons:
        assert reason in pane.reasons.text()
    assert name in [label.text for _, label in pane.plot._legend.items]
    assert pane.score.text() == "1 of 1 right"


def test_what_is_drawn_are_the_noisy_points(pane):
    points = pane.plot._dots.getData()
    assert np.array_equal(points[1], pane.quiz.question.sweep.current)


def test_the_names_to_choose_from_grow_with_all_else_for_a_class(pane):
    def sizes():
        return {button.font().pointSizeF() for button in pane.choices.values()}

    usual = sizes()
    pane._lesson.big.value = True
    big = sizes()
    assert len(big) == 1
    assert min(big) > 1.5 * max(usual)
    pane.further.click()
    assert sizes() == big
    pane._lesson.big.value = False
    assert sizes() == usual


def test_right_and_wrong_are_marked_by_more_than_colour(pane, qtbot):
    right = pane.quiz.question.answer.scenario.key
    wrong = next(key for key in pane.choices if key != right)
    qtbot.mouseClick(pane.choices[wrong], Qt.MouseButton.LeftButton)
    assert pane.choices[wrong].text().startswith("✗")
    assert pane.choices[right].text().startswith("✓")
    assert not any(button.isEnabled() for button in pane.choices.values())
    pane.further.click()
    assert pane.quiz.question.number == 2
    assert all(button.isEnabled() for button in pane.choices.values())


def test_the_seed_makes_a_quiz_repeatable(pane):
    first = [one.key for one in pane.quiz.question.choices]
    pane.further.click()
    pane.begin.click()
    assert pane.quiz.question.number == 1
    assert [one.key for one in pane.quiz.question.choices] == first
    assert pane.score.text() == "no answer yet"


def test_results_are_exported_and_a_bad_place_is_said(pane, session, tmp_path):
    assert not pane.export.isEnabled()
    pane.choices[next(iter(pane.choices))].click()
    assert pane.export.isEnabled()
    pane.save(tmp_path / "class.csv")
    assert session.message.value == f"Saved {tmp_path / 'class.csv'}."
    with (tmp_path / "class.csv").open(encoding="utf-8", newline="") as stream:
        assert len(list(csv.reader(stream))) == 2
    pane.save(tmp_path / "nowhere" / "class.csv")
    assert session.message.value.startswith("class.csv was not saved")


def test_more_names_can_be_offered(pane):
    pane.count.setValue(9)
    pane.begin.click()
    assert len(pane.choices) == 9
