import csv

import numpy as np
import pytest

from viewer.state.lesson.lesson_strings import invented_strings
from viewer.state.lesson.quiz import Quiz


@pytest.fixture
def quiz():
    made = Quiz()
    made.start(invented_strings()[1], seed=7, choices=4)
    return made


def test_the_same_seed_gives_the_same_questions(quiz):
    other = Quiz()
    other.start(invented_strings()[1], seed=7, choices=4)
    for _ in range(3):
        assert other.question.answer.scenario.key == quiz.question.answer.scenario.key
        assert np.array_equal(other.question.sweep.current, quiz.question.sweep.current)
        other.next()
        quiz.next()


def test_another_seed_gives_other_points(quiz):
    other = Quiz()
    other.start(invented_strings()[1], seed=8, choices=4)
    assert not np.array_equal(other.question.sweep.current, quiz.question.sweep.current)


def test_only_the_first_decision_counts(quiz):
    right = quiz.question.answer.scenario.key
    wrong = next(one.key for one in quiz.question.choices if one.key != right)
    quiz.answer(wrong)
    quiz.answer(right)
    assert [row.right for row in quiz.rows] == [False]
    assert quiz.verdict().startswith("Not ")
    assert quiz.question.answer.scenario.name in quiz.verdict()
    assert quiz.score_text == "0 of 1 right"


def test_a_question_passed_over_is_not_counted(quiz):
    quiz.next()
    assert quiz.question.number == 2
    assert quiz.rows == ()
    assert quiz.verdict() == ""


def test_results_are_saved_as_csv_that_says_they_are_simulated(quiz, tmp_path):
    answers = []
    for _ in range(3):
        answers.append(quiz.question.answer.scenario.key)
        quiz.answer(answers[-1])
        quiz.next()
    path = tmp_path / "quiz.csv"
    quiz.save(path)
    with path.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["answer"] for row in rows] == answers
    assert {row["right"] for row in rows} == {"yes"}
    assert {row["seed"] for row in rows} == {"7"}
    assert {row["data"] for row in rows} == {"simulated, not measured"}
