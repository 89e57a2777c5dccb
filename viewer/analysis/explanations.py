"""Fits of a sweep by each explanation: as predicted, with leaking groups, with stairs."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

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
    SHIFT,
    STAIR_LEAK,
    STRING_PARAMETERS,
    Reference,
    stair_count,
    stair_place,
    start_vector,
)
from viewer.analysis.signature_fit import (
    BASE,
    LEAKING,
    Fit,
    Places,
    Prior,
    Sweep,
    fit_string,
    free_places,
)
from viewer.analysis.stair_scan import Candidate, scan
from viewer.analysis.stair_search import Deficit
from viewer.analysis.stair_vectors import (
    drop_small,
    looks_like_mismatch,
    onset,
    put_together,
    without_stair,
)
from viewer.analysis.usual_string import USUAL_LEAK, UsualString

Array = NDArray[np.float64]

PRICE_OF_A_STAIR = 16.0
"""By how much the squared residuals, in units of their own variance, must fall to pay for it."""
NOT_ALL = 40.0
"""Where all groups are limited alike, none is: the string's current is lower."""
ONE_CELL_IN_MANY, FEW_CELLS = 8.0, 0.08
"""A single limited cell in each of several groups is rare."""
FURTHER_GAIN = 18.0
MUCH_LEFT = 25.0
"""A fit that leaves a stair of more gain is given up for another start."""
USUAL_PRICE = 12.0
"""A string that is more unusual than this, beside its stairs, has perhaps been misread."""
MOST_STAIRS = 4
LEAST_GAIN = 10.0
"""By how much the squared residuals, in the same, must be seen to fall for a stair to be tried."""
FEW_GROUPS, SURELY_ALL_CELLS = 3.5, 0.85
GOOD_FIT = 1.5
"""Squared residuals per point above which a fit is not good."""
LEAST_UNIT = 0.45
"""The noise read from the sweep may be too large by about this (in variance), not more."""
LEAST_GROUP = 0.45
"""A stair of less than this part of a group is none."""
MOST_OF_STRING = 0.6
NEIGHBOURS = 0.15
"""Stairs nearer to each other than this are tried as one."""
HARDLY_COUNTS = 60.0
"""A stair whose share differs from nothing by less, in squared deviations, is tried without."""
TIDY_ITERATIONS = 14
LEVELS_APART = 0.02


@dataclass(frozen=True, eq=False)
class Problem:
    """A sweep to explain: its prediction, groups, and what is known beforehand."""

    reference: Reference
    sweep: Sweep
    groups: int
    prior: Prior
    usual: UsualString

    def fit(self, start: Array, present: float, free: Places, iterations: int = 12) -> Fit:
        return fit_string(self.reference, start, present, self.sweep, free, iterations, self.prior)

    def unit(self, *fits: Fit) -> float:
        """What the squared residual of one point is worth, from the best of the fits."""
        return max(LEAST_UNIT, min(fit.cost for fit in fits) / self.sweep.voltage.size)

    def worth(self, fit: Fit, unit: float) -> float:
        """How little speaks for the fit: residuals, stairs, and how unusual its numbers are."""
        stairs = PRICE_OF_A_STAIR * stair_count(fit.vector)
        if fit.stair_share > (fit.present - 0.5 / self.groups):
            stairs += NOT_ALL
        stairs += sum(
            ONE_CELL_IN_MANY
            for k in range(stair_count(fit.vector))
            if fit.vector[stair_place(k, GROUPS)] * self.groups > 1.6
            and fit.vector[stair_place(k, CELLS)] < FEW_CELLS
        )
        return fit.total / unit + stairs + self.usual.price(fit.vector, fit.present)

    def good(self, fit: Fit) -> bool:
        return fit.cost < GOOD_FIT * self.sweep.voltage.size

    def at_noise(self, fit: Fit) -> bool:
        """Whether nothing but noise is left."""
        return fit.cost < self.sweep.voltage.size

    def nothing_left(self, fit: Fit) -> bool:
        """Whether the fit is good, usual, and lacks no stair that could be seen."""
        if not self.good(fit) or self.usual.price(fit.vector, fit.present) > USUAL_PRICE:
            return False
        best = scan(self.reference, fit, self.usual)
        return best.gain < MUCH_LEFT * self.unit(fit)

    def is_mismatch(self, fit: Fit) -> bool:
        """Whether the stairs stand for modules of unequal current.

        One clean stair of many groups is a shade or dirt at one level, not a spread.
        """
        if not looks_like_mismatch(fit.vector, self.groups):
            return False
        one = stair_count(fit.vector) == 1 and fit.stair_share < MOST_OF_STRING
        return not (one and self.at_noise(fit) and fit.vector[stair_place(0, FRACTION)] < 0.9)


def usual_start(scale: float, stairs: int = 0) -> Array:
    """Where sound strings usually end up, at the measured current: a good place to start."""
    vector = start_vector(stairs)
    vector[[CURRENT, SERIES, LEAK, KNEE]] = scale, 0.01, USUAL_LEAK, -0.1
    return vector


def fit_as_predicted(problem: Problem, scale: float, present: float) -> Fit:
    return problem.fit(usual_start(scale), present, free_places(BASE, 0))


def fit_leaking(problem: Problem, scale: float, present: float) -> Fit:
    """Some groups with a leak of their own; how many and how much is fitted."""
    start = usual_start(scale, 1)
    place = stair_place(0, 0)
    start[place + GROUPS] = 0.15 * present
    start[[place + FRACTION, place + CELLS]] = 1.0
    start[place + STAIR_LEAK] = 0.3
    free = np.array([*BASE, place + GROUPS, place + STAIR_LEAK])
    return fit_string(problem.reference, start, present, problem.sweep, free, 14, LEAKING)


def fit_stairs(problem: Problem, scale: float, base: Fit, deficits: Iterable[Deficit]) -> Fit:
    """The best fit that starts from one of the readings of the deficit, as simple as may be."""
    fits: list[Fit] = []
    for deficit in deficits:
        start = _first_vector(deficit, scale, problem.groups)
        free = free_places(BASE, stair_count(start), fixed_groups=True)
        whole = problem.fit(start, base.present, free, 10)
        fit = _fit_tidied(problem, whole.vector, base.present)
        if problem.is_mismatch(fit):
            return fit
        fit = _simplified(problem, fit)
        fits.append(fit)
        if problem.nothing_left(fit):
            return grow(problem, fit)
    fits = [grow(problem, fit) for fit in (fits or [base])]
    if not any(problem.good(fit) for fit in fits):
        fits.append(grow(problem, base))
    unit = problem.unit(*fits)
    return min(fits, key=lambda fit: problem.worth(fit, unit))


def grow(problem: Problem, fit: Fit) -> Fit:
    """The fit with a stair more, and one more, as long as each is worth its price."""
    while stair_count(fit.vector) < MOST_STAIRS:
        least = (FURTHER_GAIN if stair_count(fit.vector) else LEAST_GAIN) * problem.unit(fit)
        candidate = scan(problem.reference, fit, problem.usual)
        if candidate.gain < least:
            return fit
        more = _with_stair(problem, fit, candidate)
        unit = problem.unit(fit, more)
        if problem.worth(more, unit) >= problem.worth(fit, unit):
            return fit
        fit = more
    return fit


def _with_stair(problem: Problem, fit: Fit, candidate: Candidate) -> Fit:
    if stair_count(fit.vector) == 0:
        free = free_places(BASE, 1, fixed_groups=True)
        return problem.fit(candidate.start, fit.present, free)
    return _fit_tidied(problem, candidate.start, fit.present)


def _fit_tidied(problem: Problem, start: Array, present: float) -> Fit:
    """Fit, put together or drop stairs, and fit again until nothing is left to tidy."""
    vector = start
    while True:
        free = free_places(BASE, stair_count(vector))
        fit = problem.fit(vector, present, free, TIDY_ITERATIONS)
        vector = drop_small(put_together(fit.vector), LEAST_GROUP / problem.groups)
        if vector.size == fit.vector.size:
            return fit


def _simplified(problem: Problem, fit: Fit) -> Fit:
    """The fit with fewer stairs, as long as that is worth it."""
    while stair_count(fit.vector) > 1:
        for vector in _simpler(problem, fit):
            simpler = _fit_tidied(problem, vector, fit.present)
            unit = problem.unit(fit, simpler)
            if problem.worth(simpler, unit) < problem.worth(fit, unit):
                break
        else:
            return fit
        fit = simpler
    return fit


def _simpler(problem: Problem, fit: Fit) -> list[Array]:
    """Vectors with one stair fewer: two near ones made one, or one left out that hardly counts."""
    vector, count = fit.vector, stair_count(fit.vector)
    fractions = np.sort([vector[stair_place(k, FRACTION)] for k in range(count)])
    nearest = float(np.diff(fractions).min())
    ways = []
    if nearest < NEIGHBOURS:
        ways.append(put_together(vector, nearest + 1e-9))
    unit = problem.unit(fit)
    for k in range(count):
        place = stair_place(k, GROUPS)
        if (vector[place] / fit.uncertainty(place)) ** 2 < HARDLY_COUNTS * unit:
            ways.append(without_stair(vector, k))
    return ways


def whole_modules(problem: Problem, fit: Fit) -> Fit:
    """The same with all cells of the weaker modules limited, as modules of lower current are.

    Few levels narrow the spread of many modules, so that two for each are tried as well.
    """
    fits = [_of_whole_cells(problem, fit.vector, fit.present)]
    if stair_count(fit.vector) <= MOST_STAIRS // 2:
        fits.append(_of_whole_cells(problem, _halved(fit.vector), fit.present))
    return min(fits, key=lambda one: one.total)


def _of_whole_cells(problem: Problem, start: Array, present: float) -> Fit:
    vector = start.copy()
    places = [stair_place(k, CELLS) for k in range(stair_count(vector))]
    vector[places] = 1.0
    free = np.setdiff1d(free_places(BASE, stair_count(vector)), places)
    return problem.fit(vector, present, free, 8)


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


def _first_vector(deficit: Deficit, scale: float, groups: int) -> Array:
    """What the deficit holds as a vector, its stairs as whole groups."""
    vector = usual_start(scale, len(deficit.stairs))
    vector[[SHIFT, SERIES, KNEE]] = deficit.shift, deficit.series, deficit.knee
    for k, stair in enumerate(deficit.stairs):
        place = stair_place(k, 0)
        vector[place + GROUPS] = max(round(stair.share * groups), 1) / groups
        vector[place + FRACTION] = stair.fraction
        vector[place + CELLS] = stair.cells
    return vector


def onset_between(problem: Problem, fit: Fit, stair: int) -> float:
    """Where a stair begins, between "few of its cells are limited" and "all of them are".

    The two give one stair onsets a few hundredths apart. Where the sweep cannot tell which is
    true (a group or two of a long string), the onsets are weighed by how well each fits.
    """
    few = onset(fit.vector, stair)
    place = stair_place(stair, 0)
    groups = float(fit.vector[place + GROUPS]) * problem.groups
    if groups > FEW_GROUPS or fit.vector[place + CELLS] > SURELY_ALL_CELLS:
        return few
    start = fit.vector.copy()
    start[place + CELLS] = 1.0
    start[place + STAIR_LEAK] = 0.0
    free = free_places(BASE, stair_count(start), fixed_groups=True)
    free = np.setdiff1d(free, [place + CELLS, place + STAIR_LEAK])
    rival = problem.fit(start, fit.present, free, 5)
    worse = (rival.total - fit.total) / problem.unit(fit, rival)
    weight = 1.0 / (1.0 + math.exp(min(max(0.5 * worse, -30.0), 30.0)))
    return (1.0 - weight) * few + weight * onset(rival.vector, stair)
