"""Fits of a sweep by each explanation: as predicted, with leaking groups, with stairs."""

import math
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
    Reference,
    stair_count,
    stair_place,
    start_vector,
)
from viewer.analysis.signature_fit import (
    BASE,
    LEAKING_WIDTH,
    Fit,
    Places,
    Sweep,
    fit_string,
    free_places,
)
from viewer.analysis.stair_search import Stair
from viewer.analysis.stair_vectors import (
    drop_small,
    looks_like_mismatch,
    onset,
    put_together,
    without_stair,
)

Array = NDArray[np.float64]

USUAL_LEAK = 0.012
"""Slope near short circuit that equal modules show for their small spread (in units)."""
PRICE_OF_A_STAIR = 16.0
"""By how much the squared residuals, in units of their own variance, must fall to pay for it."""
CELLS_TO_TRY = (0.3, 1.0, 0.06)
USUAL_SHIFT = 0.0045
USUAL_SERIES = 0.0075
"""Standard deviations of voltage and series resistance of sound strings (in units)."""
FARTHEST_COUNT = 0.9
FEW_GROUPS, SURELY_ALL_CELLS = 3.5, 0.85
NO_BETTER = 0.9
"""A second start that leaves more than this share of the first one's residuals ends the trying."""
GOOD_FIT = 1.5
"""Squared residuals per point above which other starts are tried."""
LEAST_UNIT = 0.45
"""The noise read from the sweep may be too large by about this (in variance), not more."""
LEAST_GROUP = 0.45
"""A stair of less than this part of a group is none."""
NEIGHBOURS = 0.15
TIDY_ITERATIONS = 14
SMALL_GROUPS = 2.6
"""Stairs nearer to each other, or smaller, than these are tried to be done without."""


@dataclass(frozen=True, eq=False)
class Problem:
    """A sweep to explain: its prediction, groups, and how far limited cells may leak."""

    reference: Reference
    sweep: Sweep
    groups: int
    leak_width: float

    def fit(self, start: Array, present: float, free: Places, iterations: int = 12) -> Fit:
        return fit_string(
            self.reference, start, present, self.sweep, free, iterations, self.leak_width
        )

    def unit(self, *fits: Fit) -> float:
        """What the squared residual of one point is worth, from the best of the fits."""
        return max(LEAST_UNIT, min(fit.cost for fit in fits) / self.sweep.voltage.size)

    def good(self, fit: Fit) -> bool:
        return fit.cost < GOOD_FIT * self.sweep.voltage.size

    def at_noise(self, fit: Fit) -> bool:
        """Whether nothing but noise is left."""
        return fit.cost < self.sweep.voltage.size

    def is_mismatch(self, fit: Fit) -> bool:
        """Whether the stairs stand for modules of unequal current.

        One clean stair of many groups is a shade or dirt at one level, not a spread.
        """
        if not looks_like_mismatch(fit.vector, self.groups):
            return False
        one = stair_count(fit.vector) == 1
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
    return fit_string(problem.reference, start, present, problem.sweep, free, 14, LEAKING_WIDTH)


def fit_stairs(
    problem: Problem, scale: float, present: float, found: tuple[Stair, ...], hurried: bool
) -> Fit:
    """Fit the stairs found, put together those at one level, and drop those not worth it.

    Starts with few, all or very few cells limited until the fit is good; only the first when
    `hurried`.
    """
    fits: list[Fit] = []
    for cells in CELLS_TO_TRY[: 1 if hurried else None]:
        start = _with_stairs(usual_start(scale, len(found)), found, cells)
        fits.append(_fit_tidied(problem, start, present))
        best = min(fits, key=lambda fit: fit.total)
        if problem.is_mismatch(best):
            return best
        if problem.good(best) or (len(fits) > 1 and best.total > NO_BETTER * fits[0].total):
            break
    return _simplified(problem, best)


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
    """The fit with fewer stairs, as long as what is left out is not worth its price."""
    while stair_count(fit.vector) > 1:
        unit = problem.unit(fit)
        for vector in _simpler(fit.vector, problem.groups):
            simpler = _fit_tidied(problem, vector, fit.present)
            fewer = stair_count(fit.vector) - stair_count(simpler.vector)
            if simpler.total <= fit.total + unit * PRICE_OF_A_STAIR * fewer:
                break
        else:
            return fit
        fit = simpler
    return fit


def _simpler(vector: Array, groups: int) -> list[Array]:
    """Vectors with one stair fewer: the two nearest made one, or the smallest left out."""
    count = stair_count(vector)
    fractions = np.sort([vector[stair_place(k, FRACTION)] for k in range(count)])
    shares = np.array([vector[stair_place(k, GROUPS)] for k in range(count)])
    nearest = float(np.diff(fractions).min())
    ways = []
    if nearest < NEIGHBOURS:
        ways.append(put_together(vector, nearest + 1e-9))
    smallest = int(np.argmin(shares))
    if shares[smallest] < SMALL_GROUPS / groups:
        ways.append(without_stair(vector, smallest))
    return ways


def whole_modules(problem: Problem, fit: Fit, found: tuple[Stair, ...]) -> Fit:
    """The same with all cells of the weaker modules limited, as modules of lower current are.

    The stairs first found are tried as well, for putting them together may have gone too far.
    """
    start = _with_stairs(usual_start(float(fit.vector[CURRENT]), len(found)), found, 1.0)
    fits = [_modules_fitted(problem, vector, fit.present) for vector in (fit.vector, start)]
    return min(fits, key=lambda one: one.total)


def _modules_fitted(problem: Problem, start: Array, present: float) -> Fit:
    vector = start.copy()
    places = [stair_place(k, CELLS) for k in range(stair_count(vector))]
    vector[places] = 1.0
    free = np.setdiff1d(free_places(BASE, stair_count(vector)), places)
    return problem.fit(vector, present, free, 8)


def _with_stairs(vector: Array, found: tuple[Stair, ...], cells: float) -> Array:
    """A vector with room for the stairs found, with them put in."""
    for k, stair in enumerate(found):
        place = stair_place(k, 0)
        vector[place + GROUPS] = stair.share
        vector[place + FRACTION] = stair.fraction
        vector[place + CELLS] = cells
    return vector


def whole_groups(problem: Problem, fit: Fit) -> Fit:
    """The same with whole numbers of groups, the rest fitted again.

    A stair at low current and a shift of the voltage can stand for each other. Where the shift
    is more than a sound string's, one group more or less of the lowest stair is tried, and the
    better is kept by residuals and by how usual the shift and resistance are.
    """
    best = _rounded(problem, fit, 0)
    lost = 1.0 - best.present - float(best.vector[SHIFT])
    other = 1 if lost > USUAL_SHIFT else -1 if lost < -USUAL_SHIFT else 0
    lowest = _lowest_stair(fit.vector)
    share = float(fit.vector[stair_place(lowest, GROUPS)]) * problem.groups
    count = max(1, round(share)) + other
    if other == 0 or count < 1 or abs(count - share) > FARTHEST_COUNT:
        return best
    rival = _rounded(problem, fit, other)
    unit = problem.unit(best, rival)
    return min(best, rival, key=lambda f: f.total / unit + _unusual(f))


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


def _lowest_stair(vector: Array) -> int:
    places = range(stair_count(vector))
    return min(places, key=lambda k: float(vector[stair_place(k, FRACTION)]))


def _rounded(problem: Problem, fit: Fit, other: int) -> Fit:
    """Whole groups, the lowest stair with `other` groups more than the nearest number."""
    vector = fit.vector.copy()
    lowest = _lowest_stair(vector)
    for k in range(stair_count(vector)):
        place = stair_place(k, GROUPS)
        count = max(1, round(vector[place] * problem.groups))
        vector[place] = (count + (other if k == lowest else 0)) / problem.groups
    free = free_places(BASE, stair_count(vector), fixed_groups=True)
    return problem.fit(vector, fit.present, free, 6)


def _unusual(fit: Fit) -> float:
    """How unusual a fit's shift and series resistance are, as squared deviations with a limit."""
    vector = fit.vector
    lost = 1.0 - fit.present - float(vector[SHIFT])
    series = float(vector[SERIES]) + 0.1 * float(vector[KNEE])
    return min((lost / USUAL_SHIFT) ** 2, 9.0) + min((series / USUAL_SERIES) ** 2, 9.0)
