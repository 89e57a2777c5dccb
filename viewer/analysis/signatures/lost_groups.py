"""Voltage that a fit finds missing, and the fit again with exactly the groups that are lost."""

import math
from dataclasses import replace
from itertools import compress

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.signatures.signature_choice import LEAKING_GROUPS, MISMATCH, STAIRS, Choice
from viewer.analysis.signatures.signature_reading import Situation
from viewer.analysis.signatures.usual_string import UsualString
from viewer.analysis.signatures.voltage_reading import KNEE_SHARE, VoltageReading, read_voltage
from viewer.analysis.string_fit.reduced_string import (
    FRACTION,
    GROUPS,
    SHIFT,
    STRING_PARAMETERS,
    stair_count,
    stairs_of,
)
from viewer.analysis.string_fit.signature_fit import BASE, LEAKING, Fit, free_leaks, free_places
from viewer.analysis.string_fit.taking_turns import side_by_side

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

STAIRS_ON_VOLTAGE = 0.008
"""How uncertain the voltage becomes when stairs take all of the string (relative)."""
HARDLY_ANY = 0.1
"""Groups that carry less of the current look like lost ones: they are not counted as both."""
DEEP = 0.05
"""Stairs of which less of the current is missing make it uncertain in proportion only."""
NEAR_ENOUGH = 2.5
"""Standard deviations within which another number of lost groups is tried."""
MOST_FIT_UNCERTAINTY = 0.02
"""What a fit of one sweep may say of its own shift at most (in units)."""


def voltage_of_fit(fit: Fit, usual: UsualString, known: Situation) -> VoltageReading:
    """What the voltage a fit finds may mean."""
    given = known.uncertainty
    from_fit = min(fit.uncertainty(SHIFT) * max(fit.roughness, 1.0), MOST_FIT_UNCERTAINTY)
    from_stairs = STAIRS_ON_VOLTAGE * _deep_share(fit)
    spread = math.sqrt(from_fit**2 + from_stairs**2 + usual.voltage**2)
    series = usual.extra_series(fit.vector)
    return read_voltage(
        usual.lost(fit.vector, fit.present),
        spread,
        usual.groups,
        known.bypass_diodes,
        given.voltage_per_kelvin,
        series - KNEE_SHARE * (1.0 - fit.present),
    )


def _deep_share(fit: Fit) -> float:
    """Share of the string that stairs take; what is hardly limited counts for little."""
    stairs = stairs_of(fit.vector)
    missing = np.minimum((1.0 - stairs[:, FRACTION]) / DEEP, 1.0)
    return float(stairs[:, GROUPS] @ missing)


async def with_lost_groups(choice: Choice, known: Situation) -> tuple[Choice, VoltageReading]:
    """Read the voltage; if whole groups are lost, the choice is fitted again with those absent.

    Beside stairs one group more or less may be as likely by the voltage; the better fit decides.
    So it does where a dead group was found as well, which may be the same one.
    """
    fit, groups = choice.fit, choice.problem.groups
    reading = voltage_of_fit(fit, choice.problem.usual, known)
    lost = reading.groups if reading.significant and reading.groups_lead else 0
    if choice.explanation == MISMATCH or (lost == 0 and fit.present == 1.0):
        return choice, reading
    counts = [lost]
    if lost and choice.explanation == STAIRS:
        off = reading.lost * groups - lost
        other = lost + (1 if off > 0.0 else -1)
        if other > 0 and abs(reading.lost - other / groups) < NEAR_ENOUGH * reading.uncertainty:
            counts.append(other)
    starts = [fit.vector]
    alive = _without_dead(fit.vector)
    if lost and choice.explanation == STAIRS and alive.size < fit.vector.size:
        starts.append(alive)
    fits = await side_by_side(
        _with_present(choice, fit, start, 1.0 - count / groups)
        for start in starts
        for count in counts
    )
    unit = choice.problem.unit(*fits)
    best = min(fits, key=lambda one: choice.problem.worth(one, unit))
    likely = choice.likely_groups
    if best.vector.size < fit.vector.size:
        likely = tuple(compress(likely, _alive(fit.vector).tolist()))
    reading = voltage_of_fit(best, choice.problem.usual, known)
    return replace(choice, fit=best, likely_groups=likely), reading


def _alive(vector: Array) -> Flags:
    """Which stairs carry some current."""
    return np.asarray(stairs_of(vector)[:, FRACTION] >= HARDLY_ANY)


def _without_dead(vector: Array) -> Array:
    """The vector without stairs that carry hardly any current."""
    alive = stairs_of(vector)[_alive(vector)]
    return np.concatenate((vector[:STRING_PARAMETERS], alive.ravel()))


async def _with_present(choice: Choice, fit: Fit, vector: Array, present: float) -> Fit:
    """Fitted again from the vector with that share of the groups left."""
    if vector is fit.vector and abs(present - fit.present) < 1e-9:
        return fit
    start = vector.copy()
    start[SHIFT] += fit.present - present
    if choice.explanation == LEAKING_GROUPS:
        free = free_leaks(stair_count(start))
        problem = replace(choice.problem, prior=LEAKING)
    else:
        free = free_places(BASE, stair_count(start), fixed_groups=True)
        problem = choice.problem
    return await problem.fit(start, present, free, 8)
