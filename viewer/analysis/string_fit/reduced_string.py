"""A string reduced to what one sweep can tell: a scaled prediction and classes of groups.

Everything is in units of the prediction: current over its photocurrent, voltage over its diode
voltage at open circuit, so that one set of numbers fits a module and a string of 32. With

    u(v) = i0 (exp(v / a) - 1) + (conductance + leak) v,   v(u) its inverse,

a class of groups that holds the share w of the string, of whose cells the share q is limited to
the fraction f of the photocurrent, contributes at the string's current i

    w max((1 + knee) d - knee + shift - series_predicted i, -drop bypass_drop),
    d = (1 - q) v(current - i) + q v(current f - i),

and the string's voltage is the sum over classes less the extra series resistance times i.
The currents of the healthy class (f = 1) are spread as a bell about their mean: the share of them
that carries i stands for itself with its mean current, the rest conducts through its diodes. Few
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
TABLE_VOLTAGES = np.concatenate(([-400.0], np.linspace(0.0, 1.12, 180)))
FORWARD_VOLTAGES = np.concatenate((TABLE_VOLTAGES[1:], [1.16, 1.2, 1.25, 1.3, 1.4, 1.5]))
STEEPEST_GROWTH = 60.0

CURRENT, SHIFT, SERIES, LEAK, KNEE, DROP, SPREAD = range(7)
"""Places in a parameter vector; four places for each stair follow. DROP scales BYPASS_DROP, SPREAD
is the standard deviation of the healthy groups' currents over their mean."""
STRING_PARAMETERS = 7
LEAST_SPREAD = 5e-4
GROUPS, FRACTION, CELLS, STAIR_LEAK = range(4)
"""Places of a stair: its share of the string, the fraction of the photocurrent it is limited
to, the share of its cells that is limited, and an extra leak of its limited cells."""
STAIR_PARAMETERS = 4


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
    forward: Array = field(repr=False)
    """Net current at each of FORWARD_VOLTAGES."""

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
        diode = saturation * np.exp(voltage / scale)
        excess = diode - saturation + voltage / shunt - photocurrent
        voltage -= excess / (diode / scale + 1.0 / shunt)
    thermal, relative = scale / voltage, saturation / photocurrent
    conductance = voltage / (shunt * photocurrent)
    growth = np.expm1(np.minimum(FORWARD_VOLTAGES / thermal, STEEPEST_GROWTH))
    forward = relative * growth + conductance * FORWARD_VOLTAGES
    far_below = conductance * TABLE_VOLTAGES[0] - relative
    return Reference(
        photocurrent,
        voltage,
        thermal,
        relative,
        conductance,
        float(predicted.resistance_series) * photocurrent / voltage,
        BYPASS_DROP * max(bypass_groups, 1) / voltage,
        np.concatenate(([far_below], forward[: TABLE_VOLTAGES.size - 1])),
        forward,
    )


def start_vector(stairs: int = 0) -> Array:
    """Parameters of the prediction itself, with room for `stairs`."""
    vector = np.zeros(STRING_PARAMETERS + STAIR_PARAMETERS * stairs)
    vector[CURRENT] = vector[DROP] = 1.0
    vector[SPREAD] = LEAST_SPREAD
    return vector


def stair_place(stair: int, what: int) -> int:
    """Where a vector holds one number of its stair (0 the first); `what` is GROUPS or another."""
    return STRING_PARAMETERS + STAIR_PARAMETERS * stair + what


def stairs_of(vector: Array) -> Array:
    """The stairs as rows of STAIR_PARAMETERS numbers, a view of the vector."""
    return vector[STRING_PARAMETERS:].reshape(-1, STAIR_PARAMETERS)


def stair_count(vector: Array) -> int:
    return (vector.size - STRING_PARAMETERS) // STAIR_PARAMETERS
