"""Fits with stairs: grown from what is found, and pruned to what is worth its price."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.signatures.explanations import usual_start
from viewer.analysis.signatures.stair_scan import Candidate, scan
from viewer.analysis.signatures.stair_search import Deficit
from viewer.analysis.signatures.stair_vectors import drop_small, put_together, without_stair
from viewer.analysis.signatures.sweep_problem import Problem
from viewer.analysis.string_fit.reduced_string import (
    CELLS,
    CURRENT,
    FRACTION,
    GROUPS,
    KNEE,
    SERIES,
    SHIFT,
    STAIR_LEAK,
    STAIR_PARAMETERS,
    STRING_PARAMETERS,
    stair_count,
    stair_place,
    stairs_of,
)
from viewer.analysis.string_fit.signature_fit import BASE, USUAL_STAIR_LEAK, Fit, free_places
from viewer.analysis.string_fit.taking_turns import side_by_side

Array = NDArray[np.float64]

LEAST_GAIN, FURTHER_GAIN = 10.0, 11.0
"""By how much the squared residuals, in units of their own variance, must be seen to fall for a
first stair, and for one more, to be tried."""
MUCH_LEFT = 12.0
"""A fit that leaves a stair of more gain is given up for another start."""
USUAL_PRICE = 12.0
"""A string that is more unusual than this, beside its stairs, has perhaps been misread."""
UNUSUAL_PRICE, ONE_OF_CELLS = 4.0, 0.05
ABOUT_A_GROUP = (0.4, 1.5)
"""A string without stairs that is so unusual, and lacks so many groups' voltage, is tried with a
dead cell, which is one of so many of its group."""
LEAST_GROUP = 0.45
"""A stair of less than this part of a group is none."""
ONE_LEVEL, WORTH_STAYING_APART = 0.02, 30.0
"""Stairs so near are one; those a little farther apart as well, unless one in their place costs so
much more in squared deviations."""
NEIGHBOURS = 0.15
"""Stairs nearer to each other than this are tried as one."""
HARDLY_COUNTS = 60.0
"""A stair whose share differs from nothing by less, in squared deviations, is tried without."""
MORE_THAN_ONE, FEW_OF_CELLS = 1.3, 0.09
PART_OF_CELLS = 0.35
"""Of a stair that is tried once more."""
FULLER, SOME_CELLS = 1.6, 0.25
"""Stairs of more than one group of which so few cells are limited are tried with so many times the
groups and that share of cells."""
HALVES_APART, MOST_CELLS = 0.05, 0.6
"""A stair is tried as two so far below and above it, with at least that share of the cells."""
ONE_SHADE = 0.05
"""Halves nearer to each other are one shade, which is nowhere quite even (judgement)."""
NEARLY_ALL, FEW_IN_ALL = 0.75, 0.4
"""A stair of so much of the string and so few of its cells is tried as one of half the string."""
FIRST_ITERATIONS, TIDY_ITERATIONS = 10, 14
MOST_GROWN = 8
"""A penumbra leaves as many stairs as it has groups; more tell no more of its cause (judgement)."""
LED_NOWHERE = 10.0
"""Times what noise makes of the squared residuals: fits above it all went astray (judgement)."""
LIMITED = 0.6
"""The current of cells that are known to be limited, but not to what: nearly any start will do."""


async def fit_stairs(problem: Problem, scale: float, base: Fit, deficits: Iterable[Deficit]) -> Fit:
    """The best fit that starts from one of the readings of the deficit, as simple as may be."""
    fits: list[Fit] = []
    tried: list[Deficit] = []
    for deficit in deficits:
        tried.append(deficit)
        start = _first_vector(deficit, scale, problem.groups)
        free = free_places(BASE, stair_count(start), fixed_groups=True)
        whole = await problem.fit(start, base.present, free, FIRST_ITERATIONS)
        fit = await _fit_tidied(problem, whole.vector, base.present)
        fit = await _half_the_string(problem, fit)
        if problem.is_mismatch(fit) and not _led_nowhere(problem, fit):
            return fit
        simple = await _simplified(problem, fit)
        fit = await _fuller(problem, simple)
        fits.append(fit)
        if _nothing_left(problem, fit):
            grown = await grow(problem, fit)
            return await _parted(problem, grown)
    fits = await side_by_side(grow(problem, fit) for fit in (fits or [base]))
    if not any(problem.good(fit) for fit in fits):
        fits.append(await grow(problem, base))
    if tried and all(_led_nowhere(problem, fit) for fit in fits):
        fits.append(await _from_the_usual(problem, scale, base, tried))
    unit = problem.unit(*fits)
    best = min(fits, key=lambda fit: problem.worth(fit, unit))
    return await _parted(problem, best)


async def _from_the_usual(
    problem: Problem, scale: float, base: Fit, deficits: Iterable[Deficit]
) -> Fit:
    """The best fit from the stairs of a reading in an otherwise usual string.

    Of a sweep that ends well before open circuit a reading may take a stair for less voltage and
    resistance, from where a fit does not find back.
    """
    starts = [_first_vector(deficit, scale, problem.groups) for deficit in deficits]
    for start in starts:
        start[:STRING_PARAMETERS] = usual_start(scale)
    firsts = await side_by_side(
        problem.fit(
            start,
            base.present,
            free_places(BASE, stair_count(start), fixed_groups=True),
            FIRST_ITERATIONS,
        )
        for start in starts
    )
    first = min(firsts, key=lambda fit: fit.total)
    return await grow(problem, await _fit_tidied(problem, first.vector, base.present))


async def _parted(problem: Problem, fit: Fit) -> Fit:
    """The fit with one of its stairs as two, where that is worth it.

    Two near stairs look like one that is tilted, and from there the way to the two is uphill.
    """
    for k in range(stair_count(fit.vector)):
        groups = float(fit.vector[stair_place(k, GROUPS)]) * problem.groups
        if groups < MORE_THAN_ONE or stair_count(fit.vector) == MOST_GROWN:
            continue
        parted = await _fit_tidied(problem, _in_two(fit.vector, k), fit.present)
        unit = problem.unit(fit, parted)
        better = problem.worth(parted, unit) < problem.worth(fit, unit)
        if better and _nearest(parted.vector) > ONE_SHADE:
            return parted
    return fit


def _led_nowhere(problem: Problem, fit: Fit) -> bool:
    return fit.cost > LED_NOWHERE * problem.sweep.voltage.size


def _nearest(vector: Array) -> float:
    """How near the two nearest stairs begin."""
    fractions = np.sort([vector[stair_place(k, FRACTION)] for k in range(stair_count(vector))])
    return float(np.diff(fractions).min(initial=1.0))


def _in_two(vector: Array, stair: int) -> Array:
    """The vector with that stair as two halves, of all cells, a little below and above."""
    place = stair_place(stair, 0)
    lower = vector[place : stair_place(stair + 1, 0)].copy()
    lower[GROUPS] /= 2.0
    lower[CELLS] = max(float(lower[CELLS]), MOST_CELLS)
    upper = lower.copy()
    lower[FRACTION] -= HALVES_APART
    upper[FRACTION] += HALVES_APART
    return np.concatenate((np.delete(vector, slice(place, place + STAIR_PARAMETERS)), lower, upper))


def _nothing_left(problem: Problem, fit: Fit) -> bool:
    """Whether the fit is good, usual, and lacks no stair that could be seen."""
    unusual = problem.usual.price(fit.vector, fit.present) > USUAL_PRICE
    if unusual or not problem.good(fit):
        return False
    best = scan(problem.reference, fit, problem.usual)
    return best.gain < MUCH_LEFT * problem.unit(fit)


async def grow(problem: Problem, fit: Fit) -> Fit:
    """The fit with a stair more, and one more, as long as each is worth its price."""
    if stair_count(fit.vector) == 0:
        fit = await _with_dead_group(problem, fit)
    for _ in range(stair_count(fit.vector), MOST_GROWN):
        least = (FURTHER_GAIN if stair_count(fit.vector) else LEAST_GAIN) * problem.unit(fit)
        candidate = scan(problem.reference, fit, problem.usual)
        if candidate.gain < least:
            return fit
        more = await _with_stair(problem, fit, candidate.start)
        if more.total > fit.total:
            more = await _with_stair(problem, fit, _plainly(fit, candidate))
        unit = problem.unit(fit, more)
        if problem.worth(more, unit) >= problem.worth(fit, unit):
            return fit
        fit = more
    return fit


async def _with_dead_group(problem: Problem, fit: Fit) -> Fit:
    """The fit with one group that carries nothing, where about a group's voltage is lost.

    Such a group is missing at every current but the smallest. A fit takes it for a lower voltage
    and a knee to match, so that its derivatives do not point to the stair.
    """
    lost = problem.usual.lost(fit.vector, fit.present) * problem.groups
    unusual = problem.usual.price(fit.vector, fit.present) > UNUSUAL_PRICE
    if not (unusual and ABOUT_A_GROUP[0] < lost < ABOUT_A_GROUP[1]):
        return fit
    start = usual_start(float(fit.vector[CURRENT]), 1)
    dead = 1.0 / problem.groups, 0.0, ONE_OF_CELLS, USUAL_STAIR_LEAK
    start[stair_place(0, 0) : stair_place(1, 0)] = dead
    free = free_places(BASE, 1, fixed_groups=True)
    with_dead = await problem.fit(start, fit.present, free, TIDY_ITERATIONS)
    unit = problem.unit(fit, with_dead)
    return min(fit, with_dead, key=lambda one: problem.worth(one, unit))


async def with_leaky_cells(problem: Problem, leaking: Fit) -> Fit:
    """The fit with limited cells that leak, in place of a group or so that leaks as a whole."""
    start = usual_start(float(leaking.vector[CURRENT]), 1)
    groups = max(round(leaking.stair_share * problem.groups), 1) / problem.groups
    start[stair_place(0, 0) : stair_place(1, 0)] = groups, LIMITED, ONE_OF_CELLS, USUAL_STAIR_LEAK
    return await grow(problem, await _fit_tidied(problem, start, leaking.present))


async def _with_stair(problem: Problem, fit: Fit, start: Array) -> Fit:
    if stair_count(fit.vector) == 0:
        free = free_places(BASE, 1, fixed_groups=True)
        return await problem.fit(start, fit.present, free)
    return await _fit_tidied(problem, start, fit.present)


def _plainly(fit: Fit, candidate: Candidate) -> Array:
    """A start with the candidate where the one that its derivatives gave went astray."""
    stair = [candidate.share, candidate.fraction, PART_OF_CELLS, USUAL_STAIR_LEAK]
    return np.concatenate((fit.vector, stair))


async def _fit_tidied(problem: Problem, start: Array, present: float) -> Fit:
    """Fit, put together or drop stairs, and fit again until nothing is left to tidy.

    Near stairs stay apart where one in their place is not worth it.
    """
    vector, apart = start, None
    while True:
        free = free_places(BASE, stair_count(vector))
        fit = await problem.fit(vector, present, free, TIDY_ITERATIONS)
        if apart is not None:
            unit = problem.unit(apart, fit)
            if problem.worth(apart, unit) + WORTH_STAYING_APART < problem.worth(fit, unit):
                return apart
        kept = drop_small(put_together(fit.vector, ONE_LEVEL), LEAST_GROUP / problem.groups)
        vector = put_together(kept)
        apart = fit if vector.size < kept.size == fit.vector.size else None
        if vector.size == fit.vector.size:
            return fit


async def _simplified(problem: Problem, fit: Fit) -> Fit:
    """The fit with fewer stairs, as long as that is worth it."""
    while stair_count(fit.vector) > 1:
        for vector in _simpler(problem, fit):
            simpler = await _fit_tidied(problem, vector, fit.present)
            unit = problem.unit(fit, simpler)
            if problem.worth(simpler, unit) < problem.worth(fit, unit):
                break
        else:
            return fit
        fit = simpler
    return fit


async def _fuller(problem: Problem, fit: Fit) -> Fit:
    """The fit with more groups in place of single limited cells in each of several.

    A graded shade of many groups and a steep one of few can look alike from where a fit starts.
    """
    vector = fit.vector.copy()
    stairs = stairs_of(vector)
    groups = stairs[:, GROUPS] * problem.groups
    few = (groups > MORE_THAN_ONE) & (stairs[:, CELLS] < FEW_OF_CELLS)
    if not few.any():
        return fit
    stairs[few, GROUPS] = np.ceil(FULLER * groups[few]) / problem.groups
    stairs[few, CELLS] = SOME_CELLS
    free = free_places(BASE, len(stairs), fixed_groups=True)
    whole = await problem.fit(vector, fit.present, free, FIRST_ITERATIONS)
    fuller = await _fit_tidied(problem, whole.vector, fit.present)
    unit = problem.unit(fit, fuller)
    return min(fit, fuller, key=lambda one: problem.worth(one, unit))


async def _half_the_string(problem: Problem, fit: Fit) -> Fit:
    """The fit with all cells of half the string limited, in place of few cells of nearly all of it.

    Modules of a lower class in half the string look like that from where a fit starts.
    """
    stairs = stairs_of(fit.vector)
    if len(stairs) != 1 or stairs[0, GROUPS] < NEARLY_ALL or stairs[0, CELLS] > FEW_IN_ALL:
        return fit
    start = fit.vector.copy()
    half = stairs_of(start)
    half[0, [GROUPS, CELLS]] = 0.5 * half[0, GROUPS], MOST_CELLS
    half[0, FRACTION] = 0.5 + 0.5 * half[0, FRACTION]
    other = await _fit_tidied(problem, start, fit.present)
    unit = problem.unit(fit, other)
    return min(fit, other, key=lambda one: problem.worth(one, unit))


def _simpler(problem: Problem, fit: Fit) -> list[Array]:
    """Vectors with one stair fewer: two near ones made one, or one left out that hardly counts."""
    vector, count = fit.vector, stair_count(fit.vector)
    nearest = _nearest(vector)
    ways = []
    if nearest < NEIGHBOURS:
        ways.append(put_together(vector, nearest + 1e-9))
    unit = problem.unit(fit)
    for k in range(count):
        place = stair_place(k, GROUPS)
        if (vector[place] / fit.uncertainty(place)) ** 2 < HARDLY_COUNTS * unit:
            ways.append(without_stair(vector, k))
    return ways


def _first_vector(deficit: Deficit, scale: float, groups: int) -> Array:
    """What the deficit holds as a vector, its stairs as whole groups."""
    vector = usual_start(scale, len(deficit.stairs))
    vector[[SHIFT, SERIES, KNEE]] = deficit.shift, deficit.series, deficit.knee
    for k, stair in enumerate(deficit.stairs):
        place = stair_place(k, 0)
        vector[place + GROUPS] = max(round(stair.share * groups), 1) / groups
        vector[place + FRACTION] = stair.fraction
        vector[place + CELLS] = stair.cells
        vector[place + STAIR_LEAK] = USUAL_STAIR_LEAK
    return vector
