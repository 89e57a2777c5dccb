"""Groups whose voltage is missing, beside what a fit found; pvlib makes the curves."""

import numpy as np
import pytest

from tests.analysis.signatures.made_problems import GROUPS, KNOWN, found, problem, with_stairs
from viewer.analysis.signatures.lost_groups import voltage_of_fit, with_lost_groups
from viewer.analysis.signatures.signature_choice import (
    AS_PREDICTED,
    LEAKING_GROUPS,
    MISMATCH,
    STAIRS,
    Choice,
)
from viewer.analysis.signatures.sweep_problem import Problem
from viewer.analysis.string_fit.reduced_string import (
    FRACTION,
    SHIFT,
    SPREAD,
    stair_count,
    stair_place,
    stairs_of,
)
from viewer.analysis.string_fit.reduced_string import GROUPS as SHARE
from viewer.analysis.string_fit.signature_fit import BASE, Fit, free_leaks, free_places

SHADED = [0.5] * 4
ONE_LESS = -1.0 / GROUPS


def as_it_is(made: Problem, vector: np.ndarray, present: float = 1.0) -> Fit:
    """A fit that was let to move next to nothing."""
    return found(made.fit(vector, present, np.array([SPREAD]), 1))


def by_hand(*stairs: tuple[float, float, float, float], shift: float = 0.0) -> np.ndarray:
    vector = with_stairs(*stairs)
    vector[SHIFT] += shift
    return vector


def test_one_lost_group_is_absent_and_no_lower_voltage() -> None:
    made = problem([1.0] * 35)
    free = found(made.fit(by_hand(), 1.0, free_places(BASE, 0), 20))
    choice, reading = found(with_lost_groups(Choice(AS_PREDICTED, free, made), KNOWN))
    assert choice.fit.present == pytest.approx(35 / GROUPS)
    assert abs(choice.fit.vector[SHIFT]) < 0.2 / GROUPS < abs(free.vector[SHIFT])
    assert reading.groups == 1
    assert reading.groups_lead


def test_a_dead_group_is_not_told_as_lost_too() -> None:
    """One group is missing; the fit had it as a stair that carries nothing and as voltage."""
    made = problem(SHADED + [1.0] * 31)
    four, dead = (4, 0.5, 1.0, 0.006), (1, 0.0, 0.05, 0.006)
    twice = as_it_is(made, by_hand(dead, four, shift=ONE_LESS))
    before = Choice(STAIRS, twice, made, ((1, 2), (3, 5)))
    choice, reading = found(with_lost_groups(before, KNOWN))
    assert stairs_of(choice.fit.vector)[:, FRACTION] == pytest.approx([0.5], abs=0.02)
    assert choice.fit.present == pytest.approx(35 / GROUPS)
    assert choice.likely_groups == ((3, 5),)
    assert reading.groups == 1
    assert reading == voltage_of_fit(choice.fit, made.usual, KNOWN)


def test_a_group_that_carries_something_is_no_lost_one() -> None:
    made = problem(SHADED + [1.0] * 31)
    four, deep = (4, 0.5, 1.0, 0.006), (1, 0.12, 1.0, 0.006)
    both = as_it_is(made, by_hand(deep, four, shift=ONE_LESS))
    choice, _ = found(with_lost_groups(Choice(STAIRS, both, made, ((1, 1), (3, 5))), KNOWN))
    assert stair_count(choice.fit.vector) == 2
    assert choice.likely_groups == ((1, 1), (3, 5))


def test_one_more_is_tried_where_stairs_leave_the_voltage_open() -> None:
    made = problem([0.5] * 26 + [1.0] * 8, noise=0.0003)
    many = as_it_is(made, by_hand((26, 0.5, 1.0, 0.006), shift=1.45 * ONE_LESS))
    assert voltage_of_fit(many, made.usual, KNOWN).groups == 1
    choice, reading = found(with_lost_groups(Choice(STAIRS, many, made, ((26, 26),)), KNOWN))
    assert choice.fit.present == pytest.approx(34 / GROUPS)
    assert reading.groups == 2


def test_numbers_of_stairs_stay_as_they_were_decided() -> None:
    made = problem(SHADED + [1.0] * 31)
    five = as_it_is(made, by_hand((5, 0.5, 1.0, 0.006), shift=ONE_LESS))
    choice, _ = found(with_lost_groups(Choice(STAIRS, five, made, ((5, 5),)), KNOWN))
    assert choice.fit.present < 1.0
    assert choice.fit.vector[stair_place(0, SHARE)] == 5 / GROUPS


def test_groups_that_leak_are_fitted_again_as_such() -> None:
    """The number of them is free, for a leak is nowhere a whole number of groups."""
    made = problem([1.0] * 35)
    leaking = found(made.fit(by_hand((8, 1.0, 1.0, 0.3), shift=ONE_LESS), 1.0, free_leaks(1), 2))
    choice, _ = found(with_lost_groups(Choice(LEAKING_GROUPS, leaking, made), KNOWN))
    assert choice.fit.present == pytest.approx(35 / GROUPS)
    assert stair_place(0, SHARE) in choice.fit.free
    assert stair_place(0, FRACTION) not in choice.fit.free


def test_where_no_voltage_is_missing_nothing_is_fitted_again() -> None:
    made = problem([1.0] * GROUPS)
    free = found(made.fit(by_hand(), 1.0, free_places(BASE, 0), 20))
    choice = Choice(AS_PREDICTED, free, made)
    assert found(with_lost_groups(choice, KNOWN))[0] is choice


def test_groups_that_were_guessed_lost_come_back() -> None:
    """A first guess from open circuit alone is taken back where the voltage is not missing."""
    made = problem([1.0] * GROUPS)
    guessed = as_it_is(made, by_hand(shift=1.0 / GROUPS), present=35 / GROUPS)
    choice, reading = found(with_lost_groups(Choice(AS_PREDICTED, guessed, made), KNOWN))
    assert choice.fit.present == 1.0
    assert abs(choice.fit.vector[SHIFT]) < 0.2 / GROUPS
    assert not reading.significant


def test_unequal_modules_are_left_as_they_are() -> None:
    made = problem([1.0] * 35)
    free = found(made.fit(by_hand(), 1.0, free_places(BASE, 0), 20))
    choice = Choice(MISMATCH, free, made)
    assert found(with_lost_groups(choice, KNOWN))[0] is choice


def test_deep_stairs_make_the_voltage_uncertain() -> None:
    made = problem(SHADED + [1.0] * 32)
    usual = made.usual

    def uncertainty(*stairs: tuple[float, float, float, float]) -> float:
        return voltage_of_fit(as_it_is(made, by_hand(*stairs)), usual, KNOWN).uncertainty

    assert uncertainty() == pytest.approx(usual.voltage)
    half = uncertainty((18, 0.5, 1.0, 0.006))
    assert half == pytest.approx(np.hypot(usual.voltage, 0.5 * 0.008))
    hardly = uncertainty((18, 0.99, 1.0, 0.006))
    assert hardly == pytest.approx(np.hypot(usual.voltage, 0.5 * 0.2 * 0.008))
