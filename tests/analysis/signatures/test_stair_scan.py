"""The stair that a fit without it lacks, found in what it leaves; pvlib makes the curves."""

import numpy as np
import pytest

from tests.analysis.signatures.made_problems import GROUPS, found, problem
from viewer.analysis.signatures.explanations import usual_start
from viewer.analysis.signatures.stair_scan import Candidate, scan
from viewer.analysis.signatures.sweep_problem import Problem
from viewer.analysis.string_fit.reduced_string import SPREAD, stair_count, stairs_of
from viewer.analysis.string_fit.signature_fit import BASE, Fit, free_places


def fitted(levels: list[float], seed: int = 1) -> tuple[Problem, Fit]:
    made = problem(levels, noise=0.002, seed=seed)
    return made, found(made.fit(usual_start(1.0), 1.0, free_places(BASE, 0), 20))


def candidate(levels: list[float], seed: int = 1) -> Candidate:
    made, fit = fitted(levels, seed)
    return scan(made.reference, fit, made.usual)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize(("groups", "level"), [(1, 0.3), (1, 0.6), (2, 0.75)])
def test_it_is_the_stair_that_lacks(groups: int, level: float, seed: int) -> None:
    lacking = candidate([level] * groups + [1.0] * (GROUPS - groups), seed)
    assert lacking.share * GROUPS == pytest.approx(groups)
    assert lacking.fraction == pytest.approx(level, abs=0.06)
    assert lacking.gain > 50.0


def test_a_sound_string_lacks_none() -> None:
    assert max(candidate([1.0] * GROUPS, seed).gain for seed in range(8)) < 12.0


def test_a_string_that_is_only_resistive_or_warm_lacks_none() -> None:
    """What the fit may still move explains such residuals as well as a stair."""
    made = problem([1.0] * GROUPS, noise=0.002)
    for place, by in ((1, -0.01), (2, 0.02), (4, -0.1)):
        start = usual_start(1.0)
        start[place] += by
        # a step that leaves it where it is, with its derivatives
        held = found(made.fit(start, 1.0, free_places(BASE, 0), 1))
        assert scan(made.reference, held, made.usual).gain < 15.0


def test_the_gain_is_what_a_fit_from_there_makes_of_it() -> None:
    made, fit = fitted([0.6] + [1.0] * 35)
    lacking = scan(made.reference, fit, made.usual)
    assert stair_count(lacking.start) == 1
    assert stairs_of(lacking.start)[0, 0] == lacking.share
    with_it = found(made.fit(lacking.start, 1.0, free_places(BASE, 1, fixed_groups=True)))
    fell = fit.total - with_it.total
    assert 0.6 * lacking.gain < fell < 1.7 * lacking.gain
    # the rest is moved as the stair asks for
    unmoved = np.concatenate((fit.vector, lacking.start[fit.vector.size :]))
    there, beside = (
        found(made.fit(start, 1.0, np.array([SPREAD]), 1)) for start in (lacking.start, unmoved)
    )
    assert there.cost < 0.8 * beside.cost
