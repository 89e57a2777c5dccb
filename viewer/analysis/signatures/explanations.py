"""Fits of a sweep by the explanations without single stairs: as predicted, leaking, unequal."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.signatures.sweep_problem import Problem
from viewer.analysis.signatures.usual_string import USUAL_KNEE, USUAL_LEAK, USUAL_SERIES
from viewer.analysis.string_fit.reduced_string import (
    CELLS,
    CURRENT,
    FRACTION,
    GROUPS,
    KNEE,
    LEAK,
    SERIES,
    SPREAD,
    STRING_PARAMETERS,
    stair_count,
    stair_place,
    start_vector,
)
from viewer.analysis.string_fit.signature_fit import (
    BASE,
    LEAKING,
    USUAL_SPREAD,
    Fit,
    free_leaks,
    free_places,
)
from viewer.analysis.string_fit.taking_turns import side_by_side

Array = NDArray[np.float64]

PREDICTED_STEPS = 20
"""The fit that everything else begins from is given more steps than those that follow."""
ALL_LEAK = 0.15
"""Leak (in units) from which a fit starts that failed from the usual one."""
WAYS_TO_LEAK = (
    ((0.15, 0.3),),
    ((0.3, 0.15), (0.3, 0.4)),
    ((0.2, 0.1), (0.2, 0.25), (0.2, 0.45)),
)
"""Shares of the string and leaks (in units) from which fits of leaking groups start: alike, in two
classes, and graded along the string as potential-induced degradation leaves them."""
LEAKING_STEPS = 14
FIRST_STEPS, HOPELESS = 6, 20.0
"""After so many steps a way to leak is given up whose squared residuals are still so many times
those of its rival, or of noise."""
FEW_LEVELS, LEVELS_APART = 2, 0.02
"""So few levels of unequal modules are tried as twice as many, apart by so much of the current."""


def usual_start(scale: float, stairs: int = 0) -> Array:
    """A start where fits of sound strings usually end, with room for `stairs`, of no groups yet.

    `scale` is the measured over the predicted photocurrent.
    """
    vector = start_vector(stairs)
    vector[[SERIES, LEAK, KNEE, SPREAD]] = USUAL_SERIES, USUAL_LEAK, USUAL_KNEE, USUAL_SPREAD
    # near short circuit the string follows its stronger groups
    vector[CURRENT] = scale * (1.0 - USUAL_SPREAD)
    return vector


async def fit_as_predicted(problem: Problem, scale: float, present: float) -> Fit:
    """The string without limited groups: from the usual, and where that fails, from a leak."""
    free = free_places(BASE, 0)
    start = usual_start(scale)
    fit = await problem.fit(start, present, free, PREDICTED_STEPS)
    if problem.good(fit):
        return fit
    start[LEAK] = ALL_LEAK
    again = await problem.fit(start, present, free, PREDICTED_STEPS)
    return min(fit, again, key=lambda one: one.total)


async def fit_leaking(problem: Problem, scale: float, present: float, rival: Fit) -> Fit:
    """Some groups that leak, alike or some more than others; how many and how much is fitted.

    Ways that lead nowhere near what the `rival` explains are given up early.
    """
    leaking = replace(problem, prior=LEAKING)
    starts = [_with_leaks(scale, present, leaks) for leaks in WAYS_TO_LEAK]
    fits = await side_by_side(
        leaking.fit(start, present, free_leaks(stair_count(start)), FIRST_STEPS) for start in starts
    )
    far = HOPELESS * max(rival.cost, problem.sweep.voltage.size)
    near = [fit for fit in fits if fit.cost < far]
    if near:
        fits = await side_by_side(
            leaking.fit(one.vector, present, one.free, LEAKING_STEPS - FIRST_STEPS) for one in near
        )
    unit = problem.unit(*fits)
    return min(fits, key=lambda fit: problem.worth(fit, unit))


def _with_leaks(scale: float, present: float, leaks: tuple[tuple[float, float], ...]) -> Array:
    stairs = [[share * present, 1.0, 1.0, leak] for share, leak in leaks]
    return np.concatenate((usual_start(scale), *stairs))


async def whole_modules(problem: Problem, fit: Fit) -> Fit:
    """The same with all cells of the weaker modules limited, as modules of lower current are.

    Few levels narrow the spread of many modules, so that two for each are tried as well.
    """
    starts = [fit.vector]
    if stair_count(fit.vector) <= FEW_LEVELS:
        starts.append(_halved(fit.vector))
    fits = await side_by_side(_of_whole_cells(problem, one, fit.present) for one in starts)
    return min(fits, key=lambda one: one.total)


async def _of_whole_cells(problem: Problem, start: Array, present: float) -> Fit:
    vector = start.copy()
    places = [stair_place(k, CELLS) for k in range(stair_count(vector))]
    vector[places] = 1.0
    free = np.setdiff1d(free_places(BASE, stair_count(vector)), places)
    return await problem.fit(vector, present, free, 8)


def _halved(vector: Array) -> Array:
    """Each stair as two of half the share, a little apart."""
    parts = [vector[:STRING_PARAMETERS]]
    for k in range(stair_count(vector)):
        for away in (-LEVELS_APART, LEVELS_APART):
            stair = vector[stair_place(k, 0) : stair_place(k + 1, 0)].copy()
            stair[GROUPS] /= 2.0
            stair[FRACTION] += away
            parts.append(stair)
    return np.concatenate(parts)
