"""What the instrument records of a true curve: which points, with what noise."""

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator


@dataclass(frozen=True)
class Instrument:
    """Gain errors last for a visit; noise (standard deviations) is drawn at every point."""

    voltage_gain: float
    current_gain: float
    voltage_noise: float = 0.0004  # of full scale
    current_noise: float = 0.0012
    voltage_range: float = 1000.0
    current_range: float = 15.0


def recorded(
    voltage: np.ndarray,
    current: np.ndarray,
    instrument: Instrument,
    rng: np.random.Generator,
) -> tuple[np.ndarray, np.ndarray]:
    """Points of a sweep by a capacitor charging from the string.

    Equal steps in time: voltage runs up at a rate set by the current, so points gather towards
    open circuit. The sweep begins a little above 0 V and ends a little short of open circuit,
    and now and then beyond it or in falling order.
    """
    points = int(rng.integers(104, 148))
    at = _sample_voltages(voltage, current, points, rng)
    smooth = PchipInterpolator(voltage, current)
    true_current = smooth(at)
    noise_v = instrument.voltage_noise * instrument.voltage_range * 0.25
    noise_i = instrument.current_noise * instrument.current_range * 0.5
    v = at * instrument.voltage_gain + noise_v * rng.standard_normal(points)
    i = true_current * instrument.current_gain + noise_i * rng.standard_normal(points)
    if rng.random() < 0.15:
        v, i = v[::-1], i[::-1]
    return np.round(v, 2), np.round(i, 3)


def _sample_voltages(
    voltage: np.ndarray, current: np.ndarray, points: int, rng: np.random.Generator
) -> np.ndarray:
    v_oc = float(np.interp(0.0, -current, voltage))
    beyond = rng.random() < 0.1
    start = float(rng.uniform(0.001, 0.012)) * v_oc
    stop = v_oc * (
        float(rng.uniform(1.001, 1.004)) if beyond else float(rng.uniform(0.994, 0.9995))
    )
    grid = np.linspace(start, stop, 4000)
    speed = np.maximum(np.interp(grid, voltage, current), 0.12 * current[0])
    clock = np.concatenate([[0.0], np.cumsum(np.diff(grid) / speed[1:])])
    return np.interp(np.linspace(0, clock[-1], points), clock, grid)
