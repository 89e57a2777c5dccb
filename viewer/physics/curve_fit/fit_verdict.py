"""Whether five parameters mean anything for a sweep, and what it leaves open, in words.

Limits without a source are judgement.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.concave_parts import deepest_sag, least_sag_beside
from viewer.physics.curve_fit.parameter_spread import every_unknown
from viewer.physics.curve_fit.scaled_diode import LOG_A, G, P, R
from viewer.physics.curve_fit.sweep_batch import rows_of
from viewer.physics.curve_fit.whole_sweep import FittedSweeps
from viewer.physics.nomenclature import counted

Array = NDArray[np.float64]

LARGEST_MISFIT = 0.006
"""Of Isc, noise taken off: beyond, one diode does not describe the curve."""
LARGEST_RISE = 0.01
"""Conductance below minus this (of Isc / Voc) is a drift of the light, not a property."""
WORST_SCALE = 0.3
"""Relative standard uncertainty of nNsVth beyond which the sweep does not tell the diode."""
FARTHEST_END = 0.35
"""Of the photocurrent: a sweep ending above it does not tell diode and series resistance apart."""


@dataclass(frozen=True)
class Verdict:
    """meaningful: False where no parameters should be reported; `remarks` say why."""

    meaningful: bool
    remarks: tuple[str, ...]


def judge(result: FittedSweeps, free: FittedSweeps, spread: Array, k: int) -> Verdict:
    """The verdict on sweep `k` of a block.

    free: the fit before a negative shunt conductance was taken out; spread: covariance of the
    unknowns (sweeps, 5, 5).
    """
    objection = _objection(result, free, spread, k)
    if objection:
        return Verdict(False, (objection,))
    return Verdict(True, tuple(_open_questions(result, free, spread, k)))


def _objection(result: FittedSweeps, free: FittedSweeps, spread: Array, k: int) -> str | None:
    noise, unknowns = result.noise, result.fitted.unknowns[k]
    used = result.batch.used[k]
    voltage, current = result.batch.voltage[k, used], result.batch.current[k, used]
    misses = bool(free.noise.curve_misses[k] or noise.curve_misses[k])
    if misses:
        sag, at = deepest_sag(voltage, current)
        if sag > least_sag_beside(float(noise.current[k])):
            place = float(voltage[at] * result.batch.v_unit[k, 0])
            return (
                f"No parameters are given: near {place:.4g} V the curve has a step or a sag, "
                "which no single diode makes (shade, mismatch or changing light)."
            )
    free_g = float(free.fitted.unknowns[k, G])
    if free_g < -LARGEST_RISE and free_g < -3.0 * _deviation(every_unknown(_one(free, k))[0], G):
        return (
            "No parameters are given: the current rises with voltage along the plateau, so the "
            "light changed during the sweep."
        )
    systematic = np.sqrt(max(noise.misfit[k] ** 2 - noise.current[k] ** 2, 0.0))
    if misses and systematic > LARGEST_MISFIT * unknowns[P]:
        return (
            f"No parameters are given: one diode misses the curve by {systematic:.1%} of Isc, "
            "far more than the noise (mismatch within the string or changing light)."
        )
    if current.min() > FARTHEST_END * unknowns[P]:
        share = float(current.min() / unknowns[P])
        return f"No parameters are given: the sweep ends at {share:.0%} of Isc, too far from Voc."
    if not result.fitted.converged[k] or _deviation(spread[k], LOG_A) > WORST_SCALE:
        return "No parameters are given: the points are too few or too noisy to tell five numbers."
    return None


def _open_questions(result: FittedSweeps, free: FittedSweeps, spread: Array, k: int) -> list[str]:
    batch, unknowns = result.batch, result.fitted.unknowns[k]
    ohm = float(batch.v_unit[k, 0] / batch.i_unit[k, 0])
    out: list[str] = []
    g, g_spread = float(free.fitted.unknowns[k, G]), _deviation(spread[k], G)
    if unknowns[G] <= 0.0:
        g_spread = _deviation(every_unknown(_one(free, k))[0], G)
    if g < 2.0 * g_spread:
        least = ohm / max(g + 1.645 * g_spread, 1e-12)
        out.append(
            "Leakage cannot be told from none; the shunt resistance is at least "
            f"{least:.3g} ohm (95 %)."
        )
    r, r_spread = float(unknowns[R]), _deviation(spread[k], R)
    if r <= 0.0:
        r_spread = _deviation(every_unknown(_one(result, k))[0], R)
    if r < 2.0 * r_spread:
        most = (r + 1.645 * r_spread) * ohm
        out.append(
            f"The series resistance cannot be told from zero; it is at most {most:.3g} ohm (95 %)."
        )
    left_out = int(np.count_nonzero(result.left_out[k]))
    if left_out:
        out.append(f"{counted(left_out, 'point')} left out as outlying.")
    return out


def _one(result: FittedSweeps, k: int) -> FittedSweeps:
    return rows_of(result, np.array([k]))


def _deviation(covariance: Array, which: int) -> float:
    return float(np.sqrt(max(covariance[which, which], 0.0)))
