"""Parameter vectors with stairs: put together, thinned out, and what they amount to."""

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.string_fit.reduced_string import (
    CURRENT,
    FRACTION,
    GROUPS,
    STAIR_PARAMETERS,
    STRING_PARAMETERS,
    stair_count,
    stair_place,
    stairs_of,
)

Array = NDArray[np.float64]

SAME_LEVEL = 0.035
"""Two stairs closer together than this fraction of the current are one."""
FULL_CURRENT = 0.985
"""A stair above this fraction of the current is none."""
SPREAD_FROM = 0.965
"""Stairs above this are the ordinary spread of modules."""
MISMATCH_FROM, MISMATCH_SHARE = 0.76, 0.32
"""Stairs above this fraction count as spread of the modules' currents when they hold that share of
the string (this and what follows: judgement, on simulated strings)."""
LEAST_GROUPS_FOR_MISMATCH = 9
LEAST_DEEP = 0.6
"""So much of a group limited below MISMATCH_FROM is a stair of its own."""
ONE_LEVEL_FROM, ONE_LEVEL_SHARE = 0.86, 0.5
"""A single level is such a spread only above this fraction or with more of the string than that."""
TAPER_LEVELS, TAPER_SHARE, TAPER_FROM = 3, 0.55, 0.68
"""So many stairs above that fraction, of half the string and more, are one spread, however deep."""
NEARLY_FULL, MUCH_LEAK = 0.9, 0.04
"""Groups above this fraction are hardly limited; where they leak so much (in units) they are no
shade's."""
SHALLOW_SHARE, SHALLOW_SPREAD = 0.55, 0.012
"""Stairs of so much of the string, all nearly full, are a spread too if the groups' currents have
that standard deviation: twice the usual."""
TILTED_FROM, NOT_ALL_CELLS = 0.3, 0.95
"""A stair with less than that share of its cells limited is tilted, but one below this fraction is
too deep for a leak (judgement)."""
VOLTAGE_AT_ONSET = 0.85
"""A group's voltage where its stair begins (in units)."""


def plateau(vector: Array, stair: int) -> float:
    """The fraction of the string's photocurrent at a stair's plateau.

    It is the current that the limited cells let through half-way down the stair: their
    photocurrent, less what leaks through them while there are too few sound cells to reverse them.
    """
    place = stair_place(stair, 0)
    _, fraction, cells, leak = vector[place : place + STAIR_PARAMETERS].tolist()
    # with as many sound cells as limited ones these hold all that is left half-way down
    of_limited = max(1.0 - 0.5 / cells, 0.0) * VOLTAGE_AT_ONSET
    lost = max(leak, 0.0) * of_limited / float(vector[CURRENT])
    return max(fraction - lost, 0.0)


def without_stair(vector: Array, stair: int) -> Array:
    return np.delete(vector, slice(stair_place(stair, 0), stair_place(stair + 1, 0)))


def may_be_leaks(vector: Array) -> bool:
    """Whether a stair is so tilted that leaking groups could look like it."""
    _, fractions, cells, leaks = stairs_of(vector).T
    tilted = (fractions > TILTED_FROM) & (cells < NOT_ALL_CELLS)
    return bool((tilted | (fractions > NEARLY_FULL) & (leaks > MUCH_LEAK)).any())


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
    shares = [vector[stair_place(k, GROUPS)] for k in range(count)]
    fractions = [vector[stair_place(k, FRACTION)] for k in range(count)]
    keep = [k for k in range(count) if shares[k] >= least and fractions[k] < FULL_CURRENT]
    if len(keep) == count:
        return vector
    parts = [vector[stair_place(k, 0) : stair_place(k + 1, 0)] for k in keep]
    return np.concatenate((vector[:STRING_PARAMETERS], *parts))


def looks_like_mismatch(vector: Array, groups: int) -> bool:
    """Whether the stairs are many groups a little below the rest: modules of unequal current."""
    count = stair_count(vector)
    if groups < LEAST_GROUPS_FOR_MISMATCH or count == 0:
        return False
    shares = np.array([vector[stair_place(k, GROUPS)] for k in range(count)])
    fractions = np.array([vector[stair_place(k, FRACTION)] for k in range(count)])
    if count >= TAPER_LEVELS and shares.sum() >= TAPER_SHARE and fractions.min() >= TAPER_FROM:
        return True
    if (shares[fractions <= MISMATCH_FROM] * groups > LEAST_DEEP).any():
        return False
    band = (fractions > MISMATCH_FROM) & (fractions < SPREAD_FROM)
    if (held := shares[band].sum()) >= MISMATCH_SHARE:
        several = band.sum() >= 2
        return bool(several or fractions[band].min() > ONE_LEVEL_FROM or held > ONE_LEVEL_SHARE)
    return bool(
        shares.sum() >= SHALLOW_SHARE
        and fractions.min() > NEARLY_FULL
        and level_spread(vector) >= SHALLOW_SPREAD
    )


def level_spread(vector: Array, present: float = 1.0) -> float:
    """Standard deviation of all groups' currents over the mean of all, the sound ones with them.

    `present` is the share of the groups left; those beside the stairs carry the full current.
    """
    count = stair_count(vector)
    shares = np.array([vector[stair_place(k, GROUPS)] for k in range(count)])
    levels = np.append([vector[stair_place(k, FRACTION)] for k in range(count)], 1.0)
    weights = np.append(shares, max(present - float(shares.sum()), 0.0))
    weights = weights / weights.sum()
    mean = float(weights @ levels)
    return float(np.sqrt(weights @ (levels - mean) ** 2)) / mean
