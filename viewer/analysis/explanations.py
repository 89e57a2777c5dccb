"""Fits of a sweep by the explanations without single stairs: as predicted, leaking, unequal."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.reduced_string import (
    CELLS,
    CURRENT,
    FRACTION,
    GROUPS,
    KNEE,
    LEAK,
    SERIES,
    STAIR_LEAK,
    STRING_PARAMETERS,
    stair_count,
    stair_place,
    start_vector,
)
from viewer.analysis.signature_fit import BASE, LEAKING, Fit, free_places
from viewer.analysis.sweep_problem import Problem
from viewer.analysis.taking_turns import side_by_side
from viewer.analysis.usual_string import USUAL_LEAK

Array = NDArray[np.float64]

PREDICTED_STEPS = 20
"""The fit that everything else begins from is given more steps than those that follow."""
FEW_LEVELS, LEVELS_APART = 2, 0.02
"""So few levels of unequal modules are tried as twice as many, apart by so much of the current."""


def usual_start(scale: float, stairs: int = 0) -> Array:
    """Where sound strings usually end up, at the measured current: a good place to start."""
    vector = start_vector(stairs)
    vector[[CURRENT, SERIES, LEAK, KNEE]] = scale, 0.01, USUAL_LEAK, -0.1
    return vector


async def fit_as_predicted(problem: Problem, scale: float, present: float) -> Fit:
    return await problem.fit(usual_start(scale), present, free_places(BASE, 0), PREDICTED_STEPS)


async def fit_leaking(problem: Problem, scale: float, present: float) -> Fit:
    """Some groups with a leak of their own; how many and how much is fitted."""
    start = usual_start(scale, 1)
    place = stair_place(0, 0)
    start[place + GROUPS] = 0.15 * present
    start[[place + FRACTION, place + CELLS]] = 1.0
    start[place + STAIR_LEAK] = 0.3
    free = np.array([*BASE, place + GROUPS, place + STAIR_LEAK])
    return await replace(problem, prior=LEAKING).fit(start, present, free, 14)


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
