"""A string reduced to what one sweep can tell: a scaled prediction and classes of groups.

Everything is in units of the prediction: current over its photocurrent, voltage over its diode
voltage at open circuit, so that one set of numbers fits a module and a string of 32. With

    u(v) = i0 (exp(v / a) - 1) + (conductance + leak) v,   v(u) its inverse,

a class of groups that holds the share w of the string, of whose cells the share q is limited to
the fraction f of the photocurrent, contributes at the string's current i

    w max((1 + knee) d - knee + shift - series_predicted i, -drop bypass_drop),
    d = (1 - q) v(current - i) + q v(current f - i),

and the string's voltage is the sum over classes less the extra series resistance times i. Few
limited cells (small q) are driven into reverse by their neighbours and leak, which tilts their
stair; v(u) goes on below zero with the slope of the shunt. The inverse comes from one table, so
no equation is solved for a point.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from viewer.physics.single_diode import DiodeParameters

Array = NDArray[np.float64]

BYPASS_DROP = 0.5
"""Forward voltage of a conducting bypass diode, V (common practice, no source)."""
DROP_PER_E_FOLD = 0.06
"""Relative change of the drop when the current grows by the factor e (a diode at 50 °C)."""
TABLE_VOLTAGES = np.concatenate(([-400.0], np.linspace(0.0, 1.12, 180)))
SMALLEST_CONDUCTANCE = 1e-4

CURRENT, SHIFT, SERIES, LEAK, KNEE, DROP = range(6)
"""Places in a parameter vector; four places for each stair follow. DROP scales BYPASS_DROP."""
STRING_PARAMETERS = 6
GROUPS, FRACTION, CELLS, STAIR_LEAK = range(4)
"""Places of a stair: its share of the string, the fraction of the photocurrent it is limited
to, the share of its cells that is limited, and an extra leak of its limited cells."""
STAIR_PARAMETERS = 4

_NEAR_LIMIT = np.geomspace(2e-4, 0.12, 16)
_BEYOND_LIMIT = np.geomspace(5e-4, 0.03, 5)
_TILTED = np.linspace(0.04, 0.5, 12)
_EVEN = np.linspace(-0.06, 1.0, 44)
_AROUND_LIMIT = np.concatenate((-_NEAR_LIMIT, _BEYOND_LIMIT, [0.0]))
SHARES_OF_CURRENT = np.concatenate((_EVEN, np.ones(_NEAR_LIMIT.size + _BEYOND_LIMIT.size), [1.25]))
OFFSETS = np.concatenate((np.zeros(_EVEN.size), -_NEAR_LIMIT, _BEYOND_LIMIT, [0.05]))
"""Currents at which a string without stairs is computed: shares of its own, and offsets."""


@dataclass(frozen=True, eq=False)
class Reference:
    """A prediction in its own units; see the module's text."""

    current_unit: float
    """The predicted photocurrent, A."""
    voltage_unit: float
    """The predicted diode voltage at open circuit, V."""
    thermal: float
    saturation: float
    conductance: float
    series: float
    bypass_drop: float
    table: Array = field(repr=False)
    """Net current at each of TABLE_VOLTAGES."""

    @property
    def ohm(self) -> float:
        return self.voltage_unit / self.current_unit


def reference_of(predicted: DiodeParameters, bypass_groups: int) -> Reference:
    """From the string's five predicted parameters (numbers) and its number of bypass groups."""
    photocurrent = float(predicted.photocurrent)
    shunt = float(predicted.resistance_shunt)
    scale = float(predicted.nNsVth)
    saturation = float(predicted.saturation_current)
    voltage = scale * np.log1p(photocurrent / saturation)
    for _ in range(3):
        growth = saturation * np.exp(voltage / scale)
        excess = growth - saturation + voltage / shunt - photocurrent
        voltage -= excess / (growth / scale + 1.0 / shunt)
    thermal, relative = scale / voltage, saturation / photocurrent
    conductance = voltage / (shunt * photocurrent)
    table = relative * np.expm1(TABLE_VOLTAGES / thermal) + conductance * TABLE_VOLTAGES
    return Reference(
        photocurrent,
        voltage,
        thermal,
        relative,
        conductance,
        float(predicted.resistance_series) * photocurrent / voltage,
        BYPASS_DROP * max(bypass_groups, 1) / voltage,
        table,
    )


def start_vector(stairs: int = 0) -> Array:
    """Parameters of the prediction itself, with room for `stairs`."""
    vector = np.zeros(STRING_PARAMETERS + STAIR_PARAMETERS * stairs)
    vector[CURRENT] = vector[DROP] = 1.0
    return vector


def stair_place(stair: int, what: int) -> int:
    return STRING_PARAMETERS + STAIR_PARAMETERS * stair + what


def stair_count(vector: Array) -> int:
    return (vector.size - STRING_PARAMETERS) // STAIR_PARAMETERS


def _diode_voltage(reference: Reference, net_current: Array, leak: float) -> Array:
    if leak:
        leak = max(leak, SMALLEST_CONDUCTANCE - reference.conductance)
    table = reference.table if leak == 0.0 else reference.table + leak * TABLE_VOLTAGES
    return np.interp(net_current, table, TABLE_VOLTAGES)


def _diode_slope(reference: Reference, voltage: Array, leak: float) -> Array:
    conductance = max(reference.conductance + leak, SMALLEST_CONDUCTANCE)
    growth = np.exp(voltage * (1.0 / reference.thermal))
    growth *= reference.saturation / reference.thermal
    growth += conductance
    return np.reciprocal(growth)


def _bypass_floor(base: float, surplus: Array) -> Array:
    """Minus the drop of bypass diodes that carry the current `surplus` [units].

    The drop grows with the logarithm of the current; `base` is minus the drop at full current.
    """
    return base * (1.0 + DROP_PER_E_FOLD * np.log(np.maximum(surplus, 0.003)))


def _stair(vector: Array, stair: int) -> tuple[float, float, float, float]:
    place = STRING_PARAMETERS + STAIR_PARAMETERS * stair
    share, fraction, cells, leak = vector[place : place + STAIR_PARAMETERS].tolist()
    return share, fraction, cells, leak


def voltage_of(reference: Reference, vector: Array, present: float, current: Array) -> Array:
    """Voltage [units] of the string at `current` [units]; `present` is the share of groups left."""
    c, shift, series, leak, knee, drop_scale = vector[:STRING_PARAMETERS].tolist()
    floor = -reference.bypass_drop * drop_scale
    drop = reference.series * current - (shift - knee)

    def with_diode(diode: Array, least: Array | float) -> Array:
        return np.maximum((1.0 + knee) * diode - drop, least)

    healthy = present
    total = -series * current
    normal = _diode_voltage(reference, c - current, leak)
    for k in range(stair_count(vector)):
        share, fraction, cells, own = _stair(vector, k)
        healthy -= share
        diode = _diode_voltage(reference, c * fraction - current, leak + own)
        if cells < 1.0:
            diode = cells * diode + (1.0 - cells) * normal
        least = _bypass_floor(floor, current - c * fraction)
        total += share * with_diode(diode, least)
    total += healthy * with_diode(normal, floor)
    return total


@dataclass(frozen=True, eq=False)
class Slopes:
    """Voltage, its slope over current, and its derivatives by every parameter (rows)."""

    voltage: Array
    by_current: Array
    by_parameter: Array


def slopes_of(reference: Reference, vector: Array, present: float, current: Array) -> Slopes:
    """As `voltage_of`, with derivatives; shapes (n,), (n,) and (parameters, n)."""
    c, shift, series, leak, knee, drop_scale = vector[:STRING_PARAMETERS].tolist()
    floor = -reference.bypass_drop * drop_scale
    drop = reference.series * current - (shift - knee)
    columns = np.zeros((vector.size, current.size))
    count = stair_count(vector)
    healthy = present - sum(float(vector[stair_place(k, GROUPS)]) for k in range(count))

    diode = _diode_voltage(reference, c - current, leak)
    slope = _diode_slope(reference, diode, leak)
    volts = (1.0 + knee) * diode - drop
    on = (volts > floor) * healthy
    bypassed = healthy - on
    normal = np.maximum(volts, floor)
    total = healthy * normal - series * current
    conducting = on.copy()
    weighted = on * slope
    by_current = -weighted
    columns[CURRENT] = weighted
    columns[LEAK] = -weighted * diode
    columns[KNEE] = on * (diode - 1.0)
    for k in range(count):
        share, fraction, cells, own = _stair(vector, k)
        limited = _diode_voltage(reference, c * fraction - current, leak + own)
        limited_slope = _diode_slope(reference, limited, leak + own)
        mixed = limited if cells >= 1.0 else cells * limited + (1.0 - cells) * diode
        volts = (1.0 + knee) * mixed - drop
        least = _bypass_floor(floor, current - c * fraction)
        on = (volts > least) * share
        bypassed += share - on
        volts = np.maximum(volts, least)
        total += share * volts
        conducting += on
        by_limited = (cells * on) * limited_slope
        by_normal = ((1.0 - cells) * on) * slope
        by_current -= by_limited + by_normal
        columns[CURRENT] += by_limited * fraction + by_normal
        columns[LEAK] -= by_limited * limited + by_normal * diode
        columns[KNEE] += on * (mixed - 1.0)
        place = stair_place(k, 0)
        columns[place + GROUPS] = volts - normal
        columns[place + FRACTION] = by_limited * c
        columns[place + CELLS] = on * (limited - diode)
        columns[place + STAIR_LEAK] = -by_limited * limited
    gain = 1.0 + knee
    for row in (CURRENT, LEAK):
        columns[row] *= gain
    for k in range(count):
        place = stair_place(k, 0)
        columns[place + FRACTION : place + STAIR_PARAMETERS] *= gain
    columns[SHIFT] = conducting
    columns[SERIES] = -current
    columns[DROP] = -reference.bypass_drop * bypassed
    by_current = gain * by_current - series - reference.series * conducting
    return Slopes(total, np.minimum(by_current, -1e-6), columns)


def current_grid(vector: Array) -> Array:
    """Rising currents [units] close together where the curve bends."""
    c = float(vector[CURRENT])
    parts = [c * SHARES_OF_CURRENT + OFFSETS]
    stairs = vector[STRING_PARAMETERS:].reshape(-1, STAIR_PARAMETERS)
    if len(stairs):
        limits = c * stairs[:, FRACTION]
        parts.append((limits[:, None] + _AROUND_LIMIT).ravel())
        tilted = limits[stairs[:, CELLS] < 0.5]
        if tilted.size:
            parts.append((tilted[:, None] + _TILTED).ravel())
    grid = np.concatenate(parts)
    grid.sort()
    return grid


def current_of(
    reference: Reference, vector: Array, present: float, voltage: Array, noise: float = 1e-4
) -> tuple[Array, Array]:
    """Current [units] expected at `voltage` [units], and the curve's slope there (negative).

    A voltage reading with the standard deviation `noise` sees the curve smoothed by as much: the
    mean of the currents at one deviation less and more.
    """
    grid = current_grid(vector)
    volts = voltage_of(reference, vector, present, grid)[::-1]
    amps = grid[::-1]
    slopes = (amps[1:] - amps[:-1]) / np.maximum(volts[1:] - volts[:-1], 1e-9)
    where = np.concatenate((voltage - noise, voltage + noise))
    segment = volts[1:-1].searchsorted(where)
    current = amps[segment] + slopes[segment] * (where - volts[segment])
    low, high = current[: voltage.size], current[voltage.size :]
    return 0.5 * (low + high), (high - low) / (2.0 * noise)


def maximum_power(reference: Reference, vector: Array, present: float) -> tuple[float, float]:
    """The greatest power [W] of the reduced string and the current [A] at it."""
    grid = current_grid(vector)
    power = grid * voltage_of(reference, vector, present, grid)
    k = int(np.clip(np.argmax(power), 1, grid.size - 2))
    left, mid, right = grid[k - 1 : k + 2]
    fine = np.concatenate((np.linspace(left, mid, 8), np.linspace(mid, right, 8)))
    power = fine * voltage_of(reference, vector, present, fine)
    best = int(np.argmax(power))
    unit = reference.current_unit
    return float(power[best]) * unit * reference.voltage_unit, float(fine[best]) * unit
