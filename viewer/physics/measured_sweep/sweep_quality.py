"""How good a sweep is: noise, points near the knee, hysteresis, drift of the irradiance.

Limits without a source are judgement.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.curve_fit.fitted_points import I_SC, P_MP, SLOPE_SC, V_MP, V_OC
from viewer.physics.measured_sweep.sweep_estimates import SweepEstimate

Array = NDArray[np.float64]

KNEE = 0.1
"""Points within this share of Vmp of the maximum power count as near the knee."""
LEAST_RISE = 0.003
"""Of Isc; a smaller rise of the current along the plateau is not called drift."""


@dataclass(frozen=True)
class SweepQuality:
    """Figures of one sweep; None where the sweep cannot tell.

    noise_current [A], noise_voltage [V]: standard deviation of a point. misfit: root mean
    square of what one single-diode curve misses, share of Isc. gap_near_knee: widest gap
    between points there, share of Voc. hysteresis: change of Pmp between the two directions,
    share of Pmp. drift: change of irradiance during the sweep, share of it, and what told it.
    steps: voltages [V] where the curve leaves the shape one diode can have.
    """

    points: int
    noise_current: float
    noise_voltage: float
    misfit: float
    one_diode: bool
    points_near_knee: int
    gap_near_knee: float
    hysteresis: float | None = None
    drift: float | None = None
    drift_from: str = ""
    steps: tuple[float, ...] = ()
    outliers: tuple[tuple[float, float], ...] = ()
    """Points left out, (V, A)."""


def sweep_quality(
    voltage: Array,
    current: Array,
    estimate: SweepEstimate,
    irradiance_change: float | None = None,
    hysteresis: float | None = None,
) -> SweepQuality:
    """The figures of one clean sweep.

    irradiance_change: measured irradiance at the end over that at the start, minus one.
    """
    v_mp, v_oc = estimate.values[V_MP], estimate.values[V_OC]
    near = voltage[np.abs(voltage - v_mp) <= KNEE * abs(v_mp)]
    edges = np.empty(near.size + 2)
    edges[0], edges[1:-1], edges[-1] = v_mp * (1 - KNEE), near, v_mp * (1 + KNEE)
    drift, drift_from = irradiance_change, "irradiance readings"
    rise = plateau_rise(voltage, current, estimate)
    if rise is not None and (drift is None or rise > abs(drift)):
        drift, drift_from = rise, "rise of the current along the plateau"
    return SweepQuality(
        points=voltage.size,
        noise_current=estimate.noise_current,
        noise_voltage=estimate.noise_voltage,
        misfit=estimate.misfit,
        one_diode=estimate.one_diode,
        points_near_knee=near.size,
        gap_near_knee=float((edges[1:] - edges[:-1]).max() / v_oc),
        hysteresis=hysteresis,
        drift=drift,
        drift_from=drift_from if drift is not None else "",
        steps=estimate.steps,
        outliers=tuple((float(voltage[k]), float(current[k])) for k in estimate.left_out),
    )


def plateau_rise(voltage: Array, current: Array, estimate: SweepEstimate) -> float | None:
    """How far the current climbs above Isc below the knee, share of Isc; None if it does not.

    Under constant light the current of a string cannot rise with voltage.
    """
    i_sc, v_mp = estimate.values[I_SC], estimate.values[V_MP]
    if estimate.one_diode and estimate.values[SLOPE_SC] < 0:
        return None
    plateau = (voltage < v_mp) & ~np.isin(np.arange(voltage.size), estimate.left_out)
    if np.count_nonzero(plateau) < 5 or not i_sc > 0:
        return None
    highest = float(np.partition(current[plateau], -3)[-3])
    rise = highest - i_sc - 3.0 * estimate.noise_current
    least = max(LEAST_RISE * i_sc, 3.0 * estimate.uncertainty[I_SC])
    if rise < least:
        return None
    return float((highest - i_sc) / i_sc)


def direction_difference(voltage: ArrayLike, current: ArrayLike) -> float | None:
    """Change of the largest power from the rising to the falling direction, share of it.

    voltage, current: the points in the order they were measured. None unless the sweep runs
    once up and once down (or down and up) over most of its range.
    """
    v, i = np.asarray(voltage, dtype=float).ravel(), np.asarray(current, dtype=float).ravel()
    good = np.isfinite(v + i)
    if not good.all():
        v, i = v[good], i[good]
    rising = v[1:] > v[:-1]
    if v.size < 20 or rising.all() or not rising.any():
        return None
    turn = _turning_point(v)
    if turn is None:
        return None
    first, second = (v * i)[: turn + 1], (v * i)[turn:]
    up, down = (first, second) if v[turn] > v[0] else (second, first)
    mean = 0.5 * (up.max() + down.max())
    return float((down.max() - up.max()) / mean) if mean > 0 else None


def _turning_point(v: Array) -> int | None:
    """Where the sweep turns round; None when it runs one way or to and fro."""
    span = float(np.ptp(v))
    for turn in (int(np.argmax(v)), int(np.argmin(v))):
        way = float(np.abs(np.diff(v)).sum())
        there, back = abs(v[turn] - v[0]), abs(v[-1] - v[turn])
        enough = 0.25 * v.size < turn < 0.75 * v.size
        if enough and min(there, back) > 0.6 * span and way < 1.1 * (there + back):
            return turn
    return None


def quality_uncertainty(quality: SweepQuality) -> dict[int, float]:
    """Relative standard uncertainties that drift and hysteresis add, by column of the values.

    The irradiance a point saw lies somewhere between its start and end (rectangular over the
    change), the power somewhere between the two directions.
    """
    out: dict[int, float] = {}
    drift = abs(quality.drift or 0.0) / np.sqrt(12.0)
    turn = abs(quality.hysteresis or 0.0) / np.sqrt(12.0)
    out[I_SC] = float(drift)
    out[P_MP] = float(np.hypot(drift, turn))
    return out
