"""What speaks against a fit, part by part: the fit stays, its numbers are changed by hand."""

from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.signatures.made_problems import GROUPS, found, problem, with_stairs
from viewer.analysis.signatures.explanations import usual_start
from viewer.analysis.signatures.sweep_problem import Problem
from viewer.analysis.string_fit.signature_fit import BASE, Fit, free_places

Stair = tuple[float, float, float, float]


@pytest.fixture(scope="module")
def made() -> Problem:
    return problem([1.0] * GROUPS)


@pytest.fixture(scope="module")
def fit(made: Problem) -> Fit:
    return found(made.fit(usual_start(1.0), 1.0, free_places(BASE, 0)))


def price(made: Problem, fit: Fit, *stairs: Stair) -> float:
    """By how much more speaks against the same curve with those stairs."""
    bare = replace(fit, vector=usual_start(1.0))
    return made.worth(replace(fit, vector=with_stairs(*stairs)), 1.0) - made.worth(bare, 1.0)


def test_each_stair_has_its_price(made: Problem, fit: Fit) -> None:
    one: Stair = (3, 0.5, 0.9, 0.006)
    assert price(made, fit, one) == pytest.approx(16.0)
    assert price(made, fit, one, (2, 0.7, 0.9, 0.006)) == pytest.approx(32.0)


def test_a_single_cell_in_each_of_several_groups_is_rare(made: Problem, fit: Fit) -> None:
    assert price(made, fit, (3, 0.5, 0.05, 0.006)) == pytest.approx(16.0 + 8.0)
    assert price(made, fit, (1, 0.5, 0.05, 0.006)) == pytest.approx(16.0)


def test_where_all_are_limited_none_is(made: Problem, fit: Fit) -> None:
    assert price(made, fit, (35, 0.5, 0.9, 0.006)) == pytest.approx(16.0)
    assert price(made, fit, (36, 0.5, 0.9, 0.006)) == pytest.approx(16.0 + 40.0)


def test_residuals_count_in_their_own_unit(made: Problem, fit: Fit) -> None:
    """The unit is the best fit's, but noise is seldom read as less than half too large."""
    points = made.sweep.voltage.size
    rough, good, too_good = (replace(fit, cost=share * points) for share in (4.0, 0.8, 0.1))
    assert made.unit(rough, good) == pytest.approx(0.8)
    assert made.unit(rough, too_good) == 0.45
    apart = made.worth(rough, 0.8) - made.worth(good, 0.8)
    assert apart == pytest.approx(3.2 * points / 0.8)
    held = made.worth(replace(fit, penalty=fit.penalty + 5.0), 0.8) - made.worth(fit, 0.8)
    assert held == pytest.approx(5.0)


def test_good_is_not_yet_nothing_but_noise(made: Problem, fit: Fit) -> None:
    points = made.sweep.voltage.size
    seen = [
        (made.good(one), made.at_noise(one))
        for one in (replace(fit, cost=share * points) for share in (0.99, 1.2, 1.31))
    ]
    assert seen == [(True, True), (True, False), (False, False)]


@pytest.mark.parametrize(
    ("stairs", "cost", "unequal"),
    [
        # a clean stair at one level is a shade or dirt there
        ([(14, 0.88)], 0.9, False),
        ([(14, 0.88)], 1.1, True),
        ([(14, 0.92)], 0.9, True),
        ([(22, 0.88)], 0.9, True),
        ([(7, 0.85), (7, 0.89)], 0.9, True),
        ([(3, 0.5)], 1.1, False),
    ],
)
def test_one_clean_stair_is_no_spread(
    made: Problem, fit: Fit, stairs: list[tuple[float, float]], cost: float, unequal: bool
) -> None:
    vector = with_stairs(*((groups, level, 1.0, 0.0) for groups, level in stairs))
    one = replace(fit, vector=vector, cost=cost * made.sweep.voltage.size)
    assert made.is_mismatch(one) is unequal
    assert np.isfinite(made.worth(one, 1.0))
