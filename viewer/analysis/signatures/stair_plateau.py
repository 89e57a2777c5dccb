"""The current of a stair's plateau, as far as the sweep tells."""

import math

import numpy as np

from viewer.analysis.signatures.stair_vectors import plateau
from viewer.analysis.signatures.sweep_problem import Problem
from viewer.analysis.string_fit.reduced_string import (
    CELLS,
    GROUPS,
    STAIR_LEAK,
    stair_count,
    stair_place,
)
from viewer.analysis.string_fit.signature_fit import BASE, USUAL_STAIR_LEAK, Fit, free_places

FEW_GROUPS, SURELY_ALL_CELLS = 3.5, 0.85


async def plateau_between(problem: Problem, fit: Fit, stair: int) -> float:
    """A stair's plateau, between "few of its cells are limited" and "all of them are".

    The two give one stair currents a few hundredths apart. Where the sweep cannot tell which is
    true (a group or two of a long string), the two are weighed by how well each fits.
    """
    few = plateau(fit.vector, stair)
    place = stair_place(stair, 0)
    groups = float(fit.vector[place + GROUPS]) * problem.groups
    if groups > FEW_GROUPS or fit.vector[place + CELLS] > SURELY_ALL_CELLS:
        return few
    start = fit.vector.copy()
    start[place + CELLS] = 1.0
    start[place + STAIR_LEAK] = USUAL_STAIR_LEAK
    free = free_places(BASE, stair_count(start), fixed_groups=True)
    free = np.setdiff1d(free, [place + CELLS, place + STAIR_LEAK])
    rival = await problem.fit(start, fit.present, free, 5)
    worse = (rival.total - fit.total) / problem.unit(fit, rival)
    weight = 1.0 / (1.0 + math.exp(min(max(0.5 * worse, -30.0), 30.0)))
    return (1.0 - weight) * few + weight * plateau(rival.vector, stair)
