"""Curves of reduced strings, many at once: one string a row, all with equally many stairs.

The formulas are those of `reduced_string`. Rows do not know of each other; they are taken together
because numpy takes as long to begin as to compute a string's few hundred points.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from viewer.analysis.string_fit.reduced_string import (
    CELLS,
    CURRENT,
    DROP,
    FORWARD_VOLTAGES,
    FRACTION,
    GROUPS,
    KNEE,
    LEAK,
    SERIES,
    SHIFT,
    SPREAD,
    STAIR_LEAK,
    STAIR_PARAMETERS,
    STRING_PARAMETERS,
    Reference,
)

Array = NDArray[np.float64]

DROP_PER_E_FOLD = 0.06
"""Relative change of the drop when the current grows by the factor e (a diode at 50 °C)."""
LEAST_SURPLUS = 0.003
"""Current through a bypass diode, of the predicted photocurrent, below which its drop stays as it
is there: the logarithm has no end, and a group with so little hardly conducts (judgement)."""
SMALLEST_CONDUCTANCE = 1e-4
"""Of a group's shunt, in units of photocurrent over voltage, where a leak below nothing leaves
less: a group's voltage below zero goes with its inverse (judgement)."""
FARTHEST_GROUP = -6.0
"""In standard deviations of the groups' currents: none is farther below or above."""
STEEPEST = -1e-6
"""The voltage falls with the current at least so fast."""

FARTHEST, APART, ORIGIN = 60.0, 128.0, 32768.0
"""Rows are laid so far apart on one axis that one interpolation serves them all, beyond an origin:
from it to its double all numbers are equally fine (7e-12), so that a row's place tells nothing."""

_NEAR_LIMIT = np.geomspace(2e-4, 0.12, 16)
_BEYOND_LIMIT = np.geomspace(5e-4, 0.03, 5)
_FAR_BELOW = np.array([-12.0, -6.0, -2.5, -1.0, -0.4, -0.2])
_EVEN = np.concatenate((_FAR_BELOW, np.linspace(-0.06, 1.0, 44)))
_SHARES_OF_CURRENT = np.concatenate((_EVEN, np.ones(_NEAR_LIMIT.size + _BEYOND_LIMIT.size), [1.25]))
_OFFSETS = np.concatenate((np.zeros(_EVEN.size), -_NEAR_LIMIT, _BEYOND_LIMIT, [0.05]))
"""Currents at which a string without stairs is computed: shares of its own, and offsets."""
_IN_SPREADS = np.linspace(-3.0, 4.0, 15)
"""Currents where the healthy groups end one after another, in their standard deviations."""
_AROUND_LIMIT = np.concatenate((-_NEAR_LIMIT, _BEYOND_LIMIT, [0.0], np.linspace(0.04, 0.5, 12)))
"""Currents around a stair's own; few limited cells tilt it far beyond."""

_UPWARDS = np.linspace(0.0, 1.0, 8)
_BETWEEN = np.zeros((3, 15))
_BETWEEN[0, :8] = 1.0 - _UPWARDS
_BETWEEN[1] = np.concatenate((_UPWARDS[:-1], 1.0 - _UPWARDS))
_BETWEEN[2, 7:] = _UPWARDS
"""Currents from one of three to the next, as their weighted means."""


@dataclass(frozen=True, eq=False)
class Strings:
    """Predictions as columns, shape (k, 1), and their tables, shape (k, m), one string a row."""

    thermal: Array
    saturation: Array
    conductance: Array
    series: Array
    bypass_drop: Array
    table: Array
    present: Array
    """The share of the groups left."""

    @classmethod
    def room_for(cls, rows: int) -> "Strings":
        thermal, saturation, conductance, series, bypass_drop, present = np.zeros((6, rows, 1))
        table = np.zeros((rows, FORWARD_VOLTAGES.size))
        return cls(thermal, saturation, conductance, series, bypass_drop, table, present)

    @classmethod
    def of(cls, reference: Reference, present: float) -> "Strings":
        """One string alone."""
        alone = cls.room_for(1)
        alone.put(0, reference, present)
        return alone

    def put(self, row: int, reference: Reference, present: float) -> None:
        self.thermal[row], self.saturation[row] = reference.thermal, reference.saturation
        self.conductance[row], self.series[row] = reference.conductance, reference.series
        self.bypass_drop[row], self.present[row] = reference.bypass_drop, present
        self.table[row] = reference.forward

    def rows(self, kept: NDArray[np.intp]) -> "Strings":
        return Strings(*(value[kept] for value in vars(self).values()))


@dataclass(frozen=True, eq=False)
class _Classes:
    """The groups that are alike, at some currents: the healthy first, then each stair's.

    Columns have the shape (k, 1, 1) or (k, s + 1, 1), what depends on current (k, s + 1, n).
    """

    gain: Array
    scale: Array
    share: Array
    fraction: Array
    cells: Array
    conductance: Array
    net: Array
    """Current of the limited cells beyond what the string takes."""
    diode: Array
    """Voltage of the limited cells."""
    mixed: Array
    """Mean voltage of all cells."""
    own: Array
    """What the groups would give without bypass diodes."""
    least: Array
    """What the bypass diodes leave them."""
    healthy: "Carrying"

    @property
    def volts(self) -> Array:
        """What each class gives, per share of the string."""
        volts = np.maximum(self.own, self.least)
        volts[:, 0] = self.healthy.volts(self.own[:, 0], self.least[:, 0])
        return volts


@dataclass(frozen=True, eq=False)
class Carrying:
    """Of healthy groups, whose currents are spread as a bell, those that carry the string's."""

    share: Array
    """How many they are; the others conduct through their bypass diodes."""
    net: Array
    """The mean of their currents beyond the string's."""
    width: Array | float
    """The standard deviation of all healthy groups' currents."""
    away: Array
    """By how many standard deviations their mean exceeds the string's current."""
    bell: Array
    """The bell's height there."""

    def volts(self, own: Array, floor: Array | float) -> Array:
        """Of all healthy groups: `own` of those that carry, at least the `floor` of the others."""
        return np.asarray(floor + self.share * np.maximum(own - floor, 0.0))

    @property
    def density(self) -> Array:
        """Derivative of `share` by the net current of the mean group."""
        return self.bell / self.width

    @property
    def by_net(self) -> Array:
        """Derivative of `net` by the net current of the mean group."""
        over = self.net / self.width
        return 1.0 - (over - self.away) * over

    @property
    def by_width(self) -> Array:
        """Derivative of `net` by the standard deviation."""
        over = self.net / self.width
        return (over - self.away) * (1.0 + self.away * over)


def carrying(width: Array | float, net: Array) -> Carrying:
    """Of groups whose currents spread by `width` about a mean that is `net` above the string's."""
    away = np.maximum(net / width, FARTHEST_GROUP)
    share = ndtr(away)
    bell = np.exp(-0.5 * away * away)
    bell *= 1.0 / math.sqrt(2.0 * math.pi)
    net = bell / share
    net += away
    net *= width
    return Carrying(share, net, width, away, bell)


def short_of_diodes(
    conductance: Array | float, floor: Array | float, rest: Array, gain: Array | float
) -> Array:
    """By how much a group's current falls short of the string's before its diodes conduct.

    That much leaks through its cells where its voltage, below zero, reaches the `floor`.
    """
    return -conductance * (floor + rest) / gain


def _classes(strings: Strings, vectors: Array, current: Array) -> _Classes:
    count = (vectors.shape[1] - STRING_PARAMETERS) // STAIR_PARAMETERS
    stairs = vectors[:, STRING_PARAMETERS:].reshape(len(vectors), count, STAIR_PARAMETERS)
    of_class = np.empty((vectors.shape[0], count + 1, STAIR_PARAMETERS))
    of_class[:, 1:] = stairs
    of_class[:, 0] = 0.0, 1.0, 1.0, 0.0
    of_class[:, 0, GROUPS] = strings.present[:, 0] - stairs[:, :, GROUPS].sum(axis=1)
    share, fraction, cells, leak = (of_class[:, :, place, None] for place in range(4))
    c, shift, _, common_leak, knee, drop_scale, spread = (
        vectors[:, place, None, None] for place in range(STRING_PARAMETERS)
    )
    conductance = strings.conductance[:, :, None] + common_leak + leak
    conductance = np.maximum(conductance, SMALLEST_CONDUCTANCE)
    net = c * fraction - current[:, None, :]
    gain = 1.0 + knee
    rest = strings.series[:, :, None] * current[:, None, :] - (shift - knee)
    floor = -strings.bypass_drop[:, :, None] * drop_scale
    below = short_of_diodes(conductance[:, 0], floor[:, 0], rest[:, 0], gain[:, 0])
    healthy = carrying(c[:, 0] * spread[:, 0], net[:, 0] + below)
    net[:, 0] = healthy.net - below
    diode = _diode_voltage(strings, net, conductance)
    mixed = diode
    if count:
        mixed = cells * diode
        mixed += (1.0 - cells) * diode[:, :1]
    own = gain * mixed
    own -= rest
    least = np.empty_like(own)
    least[:, :1] = floor
    if count:
        # the drop grows with the logarithm of the current through the diodes
        surplus = np.maximum(-net[:, 1:], LEAST_SURPLUS)
        np.log(surplus, out=surplus)
        surplus *= DROP_PER_E_FOLD
        surplus += 1.0
        np.multiply(surplus, floor, out=least[:, 1:])
    return _Classes(
        gain, c, share, fraction, cells, conductance, net, diode, mixed, own, least, healthy
    )


def _diode_voltage(strings: Strings, net: Array, conductance: Array) -> Array:
    """Where the cells let through the current `net`; below zero with the slope of the shunt."""
    extra = conductance - strings.conductance[:, :, None]
    table = np.minimum(strings.table[:, None, :] + extra * FORWARD_VOLTAGES, FARTHEST)
    forward = _by_row(
        np.maximum(net, 0.0).reshape(-1, net.shape[-1]),
        table.reshape(-1, FORWARD_VOLTAGES.size),
        _voltages(net.shape[0] * net.shape[1]),
    ).reshape(net.shape)
    forward += np.minimum(net, 0.0) / conductance
    return forward


@lru_cache(maxsize=256)
def _voltages(rows: int) -> Array:
    return np.tile(FORWARD_VOLTAGES, rows)


def _by_row(at: Array, points: Array, values: Array) -> Array:
    """Row by row as numpy.interp; `points` (k, m) rise along each row; all stay within FARTHEST."""
    apart = ORIGIN + APART * np.arange(1, at.shape[0] + 1)[:, None]
    assert apart[-1, 0] + FARTHEST < 2.0 * ORIGIN
    at = np.minimum(np.maximum(at, points[:, :1]), points[:, -1:])
    flat = np.interp((at + apart).ravel(), (points + apart).ravel(), values.ravel())
    return flat.reshape(at.shape)


def voltage_of(strings: Strings, vectors: Array, current: Array) -> Array:
    """Voltage [units] at each string's `current` [units]; (k, p) and (k, n) to (k, n)."""
    groups = _classes(strings, vectors, current)
    total = groups.volts
    total *= groups.share
    return total.sum(axis=1) - vectors[:, SERIES, None] * current


@dataclass(frozen=True, eq=False)
class Slopes:
    """Derivatives of voltage: by current (k, n) and by every parameter (k, p, n)."""

    by_current: Array
    by_parameter: Array


def slopes_of(strings: Strings, vectors: Array, current: Array) -> Slopes:
    """Derivatives of `voltage_of`, with two things left out that a descent does without.

    Bypass diodes drop the same at every current: where they carry a tenth of the photocurrent the
    derivative by DROP is 16 % too large (DROP_PER_E_FOLD). And by how much the healthy groups' own
    current falls short before theirs conduct (short_of_diodes) hangs on no parameter.
    """
    groups = _classes(strings, vectors, current)
    diode, gain = groups.diode, groups.gain
    # the diode's own current is what the shunt leaves of the net current
    slope = groups.net - groups.conductance * diode
    np.maximum(slope, 0.0, out=slope)
    slope += strings.saturation[:, :, None]
    slope *= 1.0 / strings.thermal[:, :, None]
    slope += groups.conductance
    np.reciprocal(slope, out=slope)
    volts, healthy = groups.volts, groups.healthy
    on = (groups.own > groups.least) * groups.share
    on[:, 0] *= healthy.share
    by_own = on * slope
    conducting = on.sum(axis=1)
    columns = np.empty((*vectors.shape, current.shape[1]))
    by_normal = np.zeros_like(conducting)
    if vectors.shape[1] > STRING_PARAMETERS:
        by_mixed = by_own - groups.cells * by_own
        by_own -= by_mixed
        by_normal = ((1.0 - groups.cells) * on).sum(axis=1) * slope[:, 0]
        stairs = columns[:, STRING_PARAMETERS:].reshape(
            len(vectors), -1, STAIR_PARAMETERS, current.shape[1]
        )
        stairs[:, :, GROUPS] = volts[:, 1:] - volts[:, :1]
        own = by_own[:, 1:] * gain
        stairs[:, :, FRACTION] = own * groups.scale
        stairs[:, :, CELLS] = on[:, 1:] * (diode[:, 1:] - diode[:, :1]) * gain
        stairs[:, :, STAIR_LEAK] = -own * diode[:, 1:]
    gain = gain[:, :, 0]
    columns[:, LEAK] = -gain * ((by_own * diode).sum(axis=1) + by_normal * diode[:, 0])
    # the healthy groups' voltage and the share of them that gives it fall with the current
    by_normal += by_own[:, 0]
    by_normal *= gain
    falling = groups.share[:, 0] * healthy.density * _above_floor(groups)
    by_width = by_normal * healthy.by_width - falling * healthy.away
    by_normal *= healthy.by_net
    by_normal += falling
    by_own[:, 1:] *= gain[:, :, None]
    columns[:, CURRENT] = by_normal + vectors[:, SPREAD, None] * by_width
    columns[:, CURRENT] += (by_own[:, 1:] * groups.fraction[:, 1:]).sum(axis=1)
    columns[:, SPREAD] = vectors[:, CURRENT, None] * by_width
    columns[:, KNEE] = (on * groups.mixed).sum(axis=1) - conducting
    columns[:, SHIFT] = conducting
    columns[:, SERIES] = -current
    columns[:, DROP] = -strings.bypass_drop * (strings.present - conducting)
    by_current = -by_normal - by_own[:, 1:].sum(axis=1)
    by_current -= vectors[:, SERIES, None] + strings.series * conducting
    return Slopes(np.minimum(by_current, STEEPEST), columns)


def _above_floor(groups: _Classes) -> Array:
    """Voltage of the healthy groups that carry the current over that of their bypass diodes."""
    return np.maximum(groups.own[:, 0] - groups.least[:, 0], 0.0)


def _current_grid(vectors: Array) -> Array:
    """Rising currents [units], shape (k, m), close together where the curves bend."""
    c = vectors[:, CURRENT, None]
    fractions = vectors[:, STRING_PARAMETERS + FRACTION :: STAIR_PARAMETERS]
    limits = (c * fractions)[:, :, None] + _AROUND_LIMIT
    spread = c * (1.0 + vectors[:, SPREAD, None] * _IN_SPREADS)
    parts = (c * _SHARES_OF_CURRENT + _OFFSETS, spread, limits.reshape(len(vectors), -1))
    grid = np.concatenate(parts, axis=1)
    grid.sort(axis=1)
    return grid


def current_of(
    strings: Strings, vectors: Array, voltage: Array, noise: Array
) -> tuple[Array, Array]:
    """Current [units] expected at `voltage` [units] (k, n), and the slope there (negative).

    A voltage reading with the standard deviation `noise` (k, 1) sees the curve smoothed by as
    much: the mean of the currents at one deviation less and more.
    """
    grid = _current_grid(vectors)
    volts = np.clip(voltage_of(strings, vectors, grid), -FARTHEST, FARTHEST)
    at = np.concatenate((voltage - noise, voltage + noise), axis=1)
    found = _by_row(at, volts[:, ::-1], grid[:, ::-1])
    low, high = found[:, : voltage.shape[1]], found[:, voltage.shape[1] :]
    return 0.5 * (low + high), (high - low) / (2.0 * noise)


def maximum_power(strings: Strings, vectors: Array) -> tuple[Array, Array]:
    """The greatest power and the current at it [units], shape (k,)."""
    grid = _current_grid(vectors)
    power = grid * voltage_of(strings, vectors, grid)
    best = np.clip(np.argmax(power, axis=1), 1, grid.shape[1] - 2)
    rows = np.arange(len(grid))
    ends = (grid[rows, best + k] for k in (-1, 0, 1))
    fine = np.stack(list(ends), axis=1) @ _BETWEEN
    power = fine * voltage_of(strings, vectors, fine)
    best = np.argmax(power, axis=1)
    return power[rows, best], fine[rows, best]
