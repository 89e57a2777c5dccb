"""A reduced string fitted to a sweep: what is given, what is known beforehand, what comes out."""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.string_fit.reduced_string import (
    CELLS,
    CURRENT,
    DROP,
    FRACTION,
    GROUPS,
    KNEE,
    LEAK,
    LEAST_SPREAD,
    SERIES,
    SHIFT,
    SPREAD,
    STAIR_LEAK,
    STRING_PARAMETERS,
    stair_count,
    stair_place,
)

Array = NDArray[np.float64]
Places = NDArray[np.intp]

STAIR_PRIOR_WIDTH = np.array([0.5, 0.5, 1.0])
"""Of a stair, without its leak."""
USUAL_STAIR_LEAK, STAIR_LEAK_WIDTH = 0.006, 0.015
"""The limited cells leak more than the prediction's shunt lets through by about this."""
HALF_CUT_LEAK_WIDTH = 0.06
"""In half-cut modules the limited path leaks beside the sound one, which looks like more."""
USUAL_SPREAD, SPREAD_WIDTH, MOST_SPREAD = 0.006, 0.002, 0.016
"""Of the currents of a string's healthy groups (relative): modules of one type and batch differ by
half a per cent or so (common practice, no source). More than the last is a fault."""
PRIOR_WIDTH = np.array([0.5, 0.06, 0.20, 0.50, np.nan, 0.3, SPREAD_WIDTH])
"""Standard deviations of the string's parameters before the sweep is seen, in units (judgement).

Wide, so that they only hold what the sweep leaves open; in the knee's place stands Prior's.
"""


@dataclass(frozen=True, eq=False)
class Sweep:
    """A sweep in units of the prediction, voltage rising, with the noise of one reading."""

    voltage: Array
    current: Array
    weight: Array
    """Square root of how many readings a point is the mean of, shape (n,)."""
    noise_voltage: float
    noise_current: float


@dataclass(frozen=True, eq=False)
class Fit:
    """A fitted parameter vector; `cost` is the sum of squared normalised residuals."""

    vector: Array
    present: float
    cost: float
    """Of the sweep alone, without the prior's share."""
    penalty: float
    """The prior's share."""
    residual: Array
    """Current residuals over their standard deviation, shape (n,)."""
    free: Places
    normal: Array
    """Normal matrix of the free parameters, with the prior; shape (f, f)."""
    gradient: Array
    """Of half the sum of squares with the prior, downwards, shape (f,); small where it ended."""
    jacobian: Array
    """Derivatives of the model by the free parameters over the standard deviation, (f, n)."""
    model: Array
    """Currents of the model [units], shape (n,)."""
    per_volt: Array
    """By how many standard deviations the current falls per voltage lost, shape (n,)."""

    @property
    def total(self) -> float:
        return self.cost + self.penalty

    @property
    def roughness(self) -> float:
        """Residual over noise, root mean square."""
        return float(np.sqrt(self.cost / self.residual.size))

    @property
    def stair_share(self) -> float:
        """Share of the string that stairs take."""
        places = range(stair_count(self.vector))
        return sum(float(self.vector[stair_place(k, GROUPS)]) for k in places)

    @cached_property
    def covariance(self) -> Array:
        """Of the free parameters in their places, zero elsewhere; shape (p, p)."""
        covariance = np.zeros((self.vector.size, self.vector.size))
        covariance[np.ix_(self.free, self.free)] = np.linalg.inv(self.normal)
        return covariance

    def uncertainty(self, place: int) -> float:
        return float(np.sqrt(self.covariance[place, place]))


def free_places(names: tuple[int, ...], stairs: int, *, fixed_groups: bool = False) -> Places:
    """Places of the free parameters: those of the string named, and all of the stairs."""
    places = [*names, DROP] if stairs else list(names)
    for k in range(stairs):
        places += [stair_place(k, FRACTION), stair_place(k, CELLS), stair_place(k, STAIR_LEAK)]
        if not fixed_groups:
            places.append(stair_place(k, GROUPS))
    return np.array(sorted(places), dtype=np.intp)


def free_leaks(leaks: int) -> Places:
    """Places of the free parameters where so many stairs stand for groups that leak."""
    places = [stair_place(k, what) for k in range(leaks) for what in (GROUPS, STAIR_LEAK)]
    return np.array(sorted((*BASE, *places)), dtype=np.intp)


LEAST_LEAK = -0.03
"""There is no less than no shunt at all; a fit that was let to go on only wandered."""
_CENTRE = np.array([1.0, 0.0, 0.0, 0.0, np.nan, 1.0, USUAL_SPREAD])
"""In the knee's place stands Prior's."""
_LOWEST = np.array([0.02, -0.5, -0.3, LEAST_LEAK, -0.5, 0.2, LEAST_SPREAD])
_HIGHEST = np.array([3.0, 0.5, 1.5, 5.0, 0.5, 2.5, MOST_SPREAD])
"""Where a fit of the string's parameters stops, in units: far beyond any fault, so that only what
leads nowhere is held; half the voltage is not shifted but lost with groups (judgement)."""
_STAIR_LOWEST = np.array([0.0, -0.02, 0.004, -0.1])
_STAIR_HIGHEST = np.array([1.0, 1.06, 1.0, 3.0])
"""Of a stair's: currents a little beyond none and all, so that noise meets no wall, and fewer of
its cells than one (judgement)."""


@lru_cache
def limits(stairs: int) -> tuple[Array, Array]:
    """Lowest and highest values of a vector with that many stairs."""
    return (
        np.concatenate((_LOWEST, np.tile(_STAIR_LOWEST, stairs))),
        np.concatenate((_HIGHEST, np.tile(_STAIR_HIGHEST, stairs))),
    )


@dataclass(frozen=True)
class Prior:
    """What is known of a string before its sweep is seen, beside the widths above.

    `leak` and `leak_width` are the stairs' usual leak and its spread; `knee` and `knee_width` the
    bend and its spread, from the diode factor that a datasheet leaves open. Searches hold the knee
    closer to the prediction than sound strings end up (USUAL_KNEE and KNEE_SPREAD, by which numbers
    of groups are weighed): with those in every fit nearly a fifth more first causes were wrong on
    the ngspice strings to tune on.
    """

    leak: float = USUAL_STAIR_LEAK
    leak_width: float = STAIR_LEAK_WIDTH
    knee: float = 0.0
    knee_width: float = 0.06

    def of(self, vector: Array) -> tuple[Array, Array]:
        """Centre and width: the prediction, and the stairs where they start."""
        centre = vector.copy()
        centre[:STRING_PARAMETERS] = _CENTRE
        centre[KNEE] = self.knee
        for k in range(stair_count(vector)):
            centre[stair_place(k, STAIR_LEAK)] = self.leak
        return centre, _widths(stair_count(vector), self)


LEAKING = Prior(leak=0.0, leak_width=0.5)
"""Where the leak is what is looked for."""


@lru_cache
def _widths(stairs: int, prior: Prior) -> Array:
    of_stair = [*STAIR_PRIOR_WIDTH, prior.leak_width]
    widths = np.concatenate((PRIOR_WIDTH, np.tile(of_stair, stairs)))
    widths[KNEE] = prior.knee_width
    return widths


BASE = (CURRENT, SHIFT, SERIES, LEAK, KNEE, SPREAD)
