"""A sweep as an instrument records it: chosen points, errors of scale, noise, changing light.

Sizes are judgement. Scale errors are normal with 0.2 % in current and 0.15 % in voltage.
"""

from dataclasses import dataclass

import numpy as np

from tests.uneven_strings.cells import Array
from tests.uneven_strings.circumstances import Circumstances
from tests.uneven_strings.string_of_cells import Curve

CURRENT_SCALE_ERROR = 0.002
VOLTAGE_SCALE_ERROR = 0.0015
FINE = 6000


@dataclass(frozen=True)
class Sweep:
    """Recorded voltage [V] and current [A], how they were taken, and the true ends."""

    voltage: Array
    current: Array
    spacing: str
    noise: float
    i_sc: float
    v_oc: float


def record(curve: Curve, circumstances: Circumstances, rng: np.random.Generator) -> Sweep:
    voltage, current = up_from_short_circuit(curve)
    v_oc = float(np.interp(0.0, -current, voltage))
    i_sc = float(np.interp(0.0, voltage, current))
    low, high = np.log(circumstances.points)
    count = int(np.exp(rng.uniform(low, high)))
    spacing = str(rng.choice(["even", "capacitor", "uneven"]))
    ends = rng.uniform(0.0, 0.025) * v_oc, v_oc * rng.uniform(0.997, 1.0)
    at = np.linspace(*ends, count)
    if spacing != "even":
        charged = charging_points(voltage, current, ends, 0.004 * i_sc, count)
        at = charged if spacing == "capacitor" else np.sort(0.5 * charged + 0.5 * at)
    true = np.interp(at, voltage, current)
    if circumstances.drift:
        true = true * (1 + rng.normal(0, circumstances.drift) * np.linspace(-0.5, 0.5, count))
    noise = rng.uniform(*circumstances.noise)
    current_scale = 1 + rng.normal(0, CURRENT_SCALE_ERROR)
    voltage_scale = 1 + rng.normal(0, VOLTAGE_SCALE_ERROR)
    # Noise falls with the current, to three tenths at open circuit.
    size = noise * 0.7 * i_sc * (0.3 + 0.7 * true / i_sc)
    read_current = true * current_scale + size * rng.standard_normal(count)
    read_voltage = at * voltage_scale + noise * 0.3 * v_oc * rng.standard_normal(count)
    return Sweep(read_voltage, read_current, spacing, noise, i_sc, v_oc)


def up_from_short_circuit(curve: Curve) -> tuple[Array, Array]:
    """Voltage, ascending from just below zero, and current."""
    keep = curve.voltage >= -0.02 * curve.voltage.max()
    order = np.argsort(curve.voltage[keep])
    return curve.voltage[keep][order], curve.current[keep][order]


def charging_points(
    voltage: Array, current: Array, ends: tuple[float, float], least: float, count: int
) -> Array:
    """Voltages of a charging capacitor at equal times; its current stays above `least` [A]."""
    fine = np.linspace(*ends, FINE)
    charging = np.interp(fine, voltage, current).clip(least)
    time = np.concatenate([[0.0], np.cumsum(np.diff(fine) / charging[:-1])])
    return np.interp(np.linspace(0, time[-1], count), time, fine)
