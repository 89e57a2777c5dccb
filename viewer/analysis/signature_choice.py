"""Which explanation of a sweep is the simplest that explains it.

Four explanations are tried only as far as the sweep asks for them: the string as predicted but
scaled, shifted, with extra resistance and leakage; the same with stairs (limited groups); with
some groups leaking (a shunt in a few modules); and with a spread of the groups' currents. A
richer one is taken only when it lowers the squared residuals by more than its parameters are
worth.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.reduced_string import (
    CELLS,
    CURRENT,
    FRACTION,
    GROUPS,
    LEAK,
    STAIR_LEAK,
    STRING_PARAMETERS,
    Reference,
    stair_count,
    stair_place,
    start_vector,
    voltage_of,
)
from viewer.analysis.signature_fit import BASE, Fit, Sweep, fit_string, free_places
from viewer.analysis.stair_search import Stair, find_stairs

Array = NDArray[np.float64]

AS_PREDICTED, STAIRS, LEAKING_GROUPS, MISMATCH = (
    "as predicted",
    "stairs",
    "leaking groups",
    "mismatch",
)

PRICE_OF_A_STAIR = 16.0
PRICE_OF_LEAKING_GROUPS = 14.0
"""By how much the squared residuals, in units of their own variance, must fall to pay for it."""
CELLS_TO_TRY = (0.3, 1.0, 0.06)
GOOD_FIT = 1.5
"""Squared residuals per point above which other starts are tried."""
NEIGHBOURS = 0.15
SAME_LEVEL = 0.035
"""Two stairs closer together than this fraction of the current are one."""
MISMATCH_FROM = 0.76
"""Stairs above this fraction count as spread of the modules' currents when they are many."""
LEAST_GROUPS_FOR_MISMATCH = 9
MISMATCH_SHARE = 0.40
"""The share of the string such stairs must hold."""


@dataclass(frozen=True, eq=False)
class Choice:
    """The chosen explanation: its name, its fit and the string's whole number of groups."""

    explanation: str
    fit: Fit
    groups: int
    base: Fit
    """The string as predicted but scaled and shifted, for comparison."""


def measured_scale(sweep: Sweep) -> float:
    """Short-circuit current over predicted photocurrent, from the lowest voltages, robustly."""
    voltage, current = sweep.voltage, sweep.current
    count = max(4, min(voltage.size // 25, 12))
    return float(np.median(current[:count]))


def choose_explanation(reference: Reference, sweep: Sweep, groups: int) -> Choice:
    """The simplest explanation of the sweep; `groups` is the string's number of bypass groups."""
    scale = measured_scale(sweep)
    present = _present_at_first(reference, sweep, scale, groups)
    start = start_vector()
    start[CURRENT] = scale
    base = fit_string(reference, start, present, sweep, free_places(BASE, 0))
    found = find_stairs(reference, sweep, scale, present)
    if not found:
        return Choice(AS_PREDICTED, base, groups, base)
    leaking = _fit_leaking(reference, sweep, scale, present)
    stairs = _fit_stairs(reference, sweep, scale, present, found, groups)
    rivals = (
        (AS_PREDICTED, base, 0.0),
        (LEAKING_GROUPS, leaking, PRICE_OF_LEAKING_GROUPS),
        (STAIRS, stairs, PRICE_OF_A_STAIR * stair_count(stairs.vector)),
    )
    unit = noise_unit(sweep, *(fit for _, fit, _ in rivals))
    name, fit, _ = min(rivals, key=lambda r: r[1].total / unit + r[2])
    if name == STAIRS:
        if stair_count(fit.vector) == 0:
            return Choice(AS_PREDICTED, fit, groups, base)
        if looks_like_mismatch(fit.vector, groups):
            return Choice(MISMATCH, _whole_modules(reference, sweep, fit), groups, base)
        fit = _whole_groups(reference, sweep, fit, groups)
    return Choice(name, fit, groups, base)


def noise_unit(sweep: Sweep, *fits: Fit) -> float:
    """What the squared residual of one point is worth, from the best of the fits."""
    return max(1.0, min(fit.cost for fit in fits) / sweep.voltage.size)


def _present_at_first(reference: Reference, sweep: Sweep, scale: float, groups: int) -> float:
    """Share of the groups left after those that seem lost at open circuit."""
    vector = start_vector()
    vector[CURRENT] = scale
    expected = float(voltage_of(reference, vector, 1.0, np.zeros(1))[0])
    lost = 1.0 - open_circuit(sweep) / expected
    if lost < 0.03:
        return 1.0
    return 1.0 - min(round(lost * groups), groups - 1) / groups


def open_circuit(sweep: Sweep) -> float:
    """Voltage at zero current by a line through the last points, in units."""
    level = 0.12 * float(sweep.current.max())
    at = np.flatnonzero(sweep.current < level)
    at = at[-8:] if at.size >= 3 else np.arange(sweep.voltage.size)[-3:]
    i, v = sweep.current[at], sweep.voltage[at]
    if np.ptp(i) < 1e-6:
        return float(v[-1])
    slope = float(np.polyfit(i, v, 1)[0])
    if slope >= 0.0:
        return float(v[-1])
    return float(v.mean() - slope * i.mean())


def _fit_leaking(reference: Reference, sweep: Sweep, scale: float, present: float) -> Fit:
    start = start_vector(1)
    start[CURRENT] = scale
    start[LEAK] = 0.012
    start[stair_place(0, GROUPS)] = 0.15 * present
    start[stair_place(0, FRACTION)] = 1.0
    start[stair_place(0, CELLS)] = 1.0
    start[stair_place(0, STAIR_LEAK)] = 0.3
    free = np.array([*BASE, stair_place(0, GROUPS), stair_place(0, STAIR_LEAK)])
    return fit_string(reference, start, present, sweep, free, iterations=14)


def _fit_stairs(
    reference: Reference, sweep: Sweep, scale: float, present: float,
    found: tuple[Stair, ...], groups: int,
) -> Fit:  # fmt: skip
    """Fit the stairs found, put together those at one level, and drop those not worth it."""
    best: Fit | None = None
    for cells in CELLS_TO_TRY:
        start = start_vector(len(found))
        start[CURRENT] = scale
        start[LEAK] = 0.012
        for k, stair in enumerate(found):
            place = stair_place(k, 0)
            start[place + GROUPS] = stair.share
            start[place + FRACTION] = stair.fraction
            start[place + CELLS] = cells
        fit = _fit_tidied(reference, sweep, start, present, groups)
        if best is None or fit.total < best.total:
            best = fit
        if best.cost < GOOD_FIT * sweep.voltage.size:
            break
    assert best is not None
    return _simplified(reference, sweep, best, groups)


def _fit_tidied(
    reference: Reference, sweep: Sweep, start: Array, present: float, groups: int
) -> Fit:
    """Fit, put together or drop stairs, and fit again until nothing is left to tidy."""
    vector = start
    while True:
        free = free_places(BASE, stair_count(vector))
        fit = fit_string(reference, vector, present, sweep, free, iterations=14)
        vector = drop_small(put_together(fit.vector), 0.45 / groups)
        if vector.size == fit.vector.size:
            return fit


def _simplified(reference: Reference, sweep: Sweep, fit: Fit, groups: int) -> Fit:
    """The fit with fewer stairs where one stair does for two neighbours as well."""
    while stair_count(fit.vector) > 1:
        vector = _nearest_put_together(fit.vector)
        if vector is None:
            return fit
        simpler = _fit_tidied(reference, sweep, vector, fit.present, groups)
        unit = noise_unit(sweep, fit)
        fewer = stair_count(fit.vector) - stair_count(simpler.vector)
        if simpler.total > fit.total + unit * PRICE_OF_A_STAIR * fewer:
            return fit
        fit = simpler
    return fit


def _nearest_put_together(vector: Array) -> Array | None:
    """The vector with its two nearest stairs made one, None when they are far apart."""
    count = stair_count(vector)
    fractions = np.sort([vector[stair_place(k, FRACTION)] for k in range(count)])
    nearest = float(np.diff(fractions).min())
    return put_together(vector, nearest + 1e-9) if nearest < NEIGHBOURS else None


def put_together(vector: Array, within: float = SAME_LEVEL) -> Array:
    """The vector with stairs that begin at nearly one current made one."""
    count = stair_count(vector)
    stairs = sorted(
        (vector[stair_place(k, 0) : stair_place(k + 1, 0)].copy() for k in range(count)),
        key=lambda stair: float(stair[FRACTION]),
    )
    merged: list[Array] = []
    for stair in stairs:
        if merged and stair[FRACTION] - merged[-1][FRACTION] <= within:
            last = merged.pop()
            total = max(float(last[GROUPS] + stair[GROUPS]), 1e-9)
            weight = last[GROUPS] / total
            mean = weight * last + (1.0 - weight) * stair
            mean[GROUPS] = total
            merged.append(mean)
        else:
            merged.append(stair)
    if len(merged) == count:
        return vector
    return np.concatenate((vector[:STRING_PARAMETERS], *merged))


def drop_small(vector: Array, least: float) -> Array:
    """The vector without stairs of less than `least` of the string or at its full current."""
    count = stair_count(vector)
    keep = [
        k
        for k in range(count)
        if vector[stair_place(k, GROUPS)] >= least and vector[stair_place(k, FRACTION)] < 0.985
    ]
    if len(keep) == count:
        return vector
    parts = [vector[stair_place(k, 0) : stair_place(k + 1, 0)] for k in keep]
    return np.concatenate((vector[:STRING_PARAMETERS], *parts))


def looks_like_mismatch(vector: Array, groups: int) -> bool:
    """Whether the stairs are many groups a little below the rest: modules of unequal current."""
    if groups < LEAST_GROUPS_FOR_MISMATCH:
        return False
    count = stair_count(vector)
    shares = np.array([vector[stair_place(k, GROUPS)] for k in range(count)])
    fractions = np.array([vector[stair_place(k, FRACTION)] for k in range(count)])
    high = fractions > MISMATCH_FROM
    share = float(shares[high].sum())
    if share < MISMATCH_SHARE or shares[~high].sum() > 0.2:
        return False
    return bool(high.sum() >= 2 or fractions[high].min() > 0.92 or share > 0.5)


def _whole_modules(reference: Reference, sweep: Sweep, fit: Fit) -> Fit:
    """The same with all cells of the weaker modules limited, as modules of lower current are."""
    vector = fit.vector.copy()
    places = [stair_place(k, CELLS) for k in range(stair_count(vector))]
    vector[places] = 1.0
    free = np.setdiff1d(free_places(BASE, stair_count(vector)), places)
    return fit_string(reference, vector, fit.present, sweep, free, iterations=6)


def _whole_groups(reference: Reference, sweep: Sweep, fit: Fit, groups: int) -> Fit:
    """The same with whole numbers of groups, the rest fitted again."""
    vector = fit.vector.copy()
    for k in range(stair_count(vector)):
        place = stair_place(k, GROUPS)
        vector[place] = max(1.0, round(vector[place] * groups)) / groups
    free = free_places(BASE, stair_count(vector), fixed_groups=True)
    return fit_string(reference, vector, fit.present, sweep, free, iterations=6)
