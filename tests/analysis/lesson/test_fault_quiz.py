from dataclasses import replace

import numpy as np
import pytest

from viewer.analysis.lesson.fault_quiz import LEAST_TO_SEE, answered, draw_question, score
from viewer.analysis.lesson.string_makeup import makeup_of
from viewer.site_data.lesson_site import lesson_site
from viewer.site_data.scenario_file import scenarios

MAKEUP = makeup_of(lesson_site().modules["LESSON-FC"], 20, 0.3, spread_seed=None)


def drawn(number, seed=3, **options):
    return draw_question(scenarios(), MAKEUP, seed, number, **options)


def test_a_seed_gives_the_same_question_again():
    first, again, other = drawn(1), drawn(1), drawn(1, seed=4)
    assert first.answer.scenario.key == again.answer.scenario.key
    assert (first.sweep.current == again.sweep.current).all()
    assert [one.key for one in first.choices] == [one.key for one in again.choices]
    assert not np.array_equal(first.sweep.current, other.sweep.current)


def test_the_answer_is_among_the_choices_and_causes_differ():
    for number in range(1, 15):
        question = drawn(number)
        keys = [one.key for one in question.choices]
        assert question.answer.scenario.key in keys
        assert len(set(keys)) == 4
        assert len({one.cause for one in question.choices}) == 4


def test_every_fault_comes_up():
    seen = {drawn(number).answer.scenario.key for number in range(1, 120)}
    assert seen == set(scenarios())


def test_a_fault_can_be_seen_unless_none_can():
    for number in range(1, 40):
        question = drawn(number)
        if question.answer.scenario.key in ("healthy", "hot_cell"):
            continue
        voltage = np.linspace(0, 0.9 * question.sweep.voltage[-1], 60)
        seen = np.interp(voltage, question.answer.voltage, question.answer.current)
        expected = np.interp(voltage, question.expected.voltage, question.expected.current)
        size = np.sqrt(np.mean((seen - expected) ** 2)) / question.expected.current[0]
        # The recorded conditions carry noise that the draw did not know of.
        assert size > 0.3 * LEAST_TO_SEE


def test_the_answer_gives_its_reasons():
    question = drawn(2)
    scenario = question.answer.scenario
    assert question.reasons[0].startswith(scenario.name)
    assert set(scenario.reasons) <= set(question.reasons)
    assert any("infrared" in one for one in question.reasons)


def test_modules_may_differ():
    question = draw_question(scenarios(), replace(MAKEUP, spread_seed=7), 3)
    assert question.answer.solution.circuit.groups >= 20


def test_rows_are_scored():
    question = drawn(5)
    right = answered(question, question.answer.scenario.key)
    wrong = answered(question, "something else")
    assert (right.right, wrong.right) == (True, False)
    assert score([right, wrong, wrong]) == (1, 3)
    assert (right.number, right.seed) == (5, 3)


def test_a_quiz_without_scenarios_is_refused():
    with pytest.raises(ValueError, match="at least one scenario"):
        draw_question({}, MAKEUP, 1)
