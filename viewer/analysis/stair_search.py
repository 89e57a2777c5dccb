"""Where the stairs are: the voltage deficit read in the direction of rising current.

The deficit (predicted less measured voltage at equal current) of limited groups is a staircase:
each stair begins at the current that the groups' photocurrent allows and is as high as those
groups. The search takes one stair after another, each time the one that explains most of the
remaining deficit beside a shift, a slope (series resistance) and a bend (diode factor).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from viewer.analysis.reduced_string import TABLE_VOLTAGES, Reference
from viewer.analysis.signature_fit import Sweep

Array = NDArray[np.float64]

_LEVELS = np.concatenate(([0.012, 0.03], np.linspace(0.05, 0.90, 40), np.linspace(0.915, 0.985, 6)))
_CANDIDATES = np.concatenate(([0.0, 0.02], np.linspace(0.04, 0.96, 56)))
APART = 0.05
"""Stairs closer together than this (in units of the current) are found as one."""
LEAST_GAIN = 9.0
_NUISANCE_WIDTH = np.array([0.05, 0.08, 0.05])


@dataclass(frozen=True)
class Stair:
    """`share` of the string's voltage lost from `fraction` of its current on; `gain` in chi²."""

    share: float
    fraction: float
    gain: float


def voltage_at_levels(sweep: Sweep, levels: Array) -> Array:
    """Measured voltage at falling-current levels, by the decreasing rearrangement.

    Sorting the currents makes the noisy sweep monotone without moving its area.
    """
    ordered = np.sort(sweep.current)
    return np.interp(levels, ordered, sweep.voltage[::-1])


def find_stairs(
    reference: Reference,
    sweep: Sweep,
    scale: float,
    present: float,
    leak: float = 0.0,
    most: int = 4,
    least_gain: float = LEAST_GAIN,
) -> tuple[Stair, ...]:
    """Stairs of the sweep, largest gain first.

    `scale` is measured over predicted current, `present` the share of groups left, `leak` the
    string's extra conductance [units] that is known already.
    """
    levels = _LEVELS * scale
    measured = voltage_at_levels(sweep, levels)
    table = reference.table + leak * TABLE_VOLTAGES
    floor = -reference.bypass_drop
    drop = reference.series * levels
    healthy = np.maximum(np.interp(scale - levels, table, TABLE_VOLTAGES) - drop, floor)
    limited = np.interp(scale * _CANDIDATES[None, :] - levels[:, None], table, TABLE_VOLTAGES)
    limited = np.maximum(limited - drop[:, None], floor)
    templates = healthy[:, None] - limited
    deficit = present * healthy - measured
    steep = np.gradient(measured, levels)
    weight = 1.0 / np.sqrt(
        (1.5 * sweep.noise_voltage) ** 2 + (1.5 * sweep.noise_current * steep) ** 2 + 1e-6
    )
    nuisance = np.stack((np.ones_like(levels), levels, healthy - 1.0), axis=1) * weight[:, None]
    nuisance = np.vstack((nuisance, np.diag(1.0 / _NUISANCE_WIDTH)))
    pad = np.zeros(3)
    target = np.concatenate((deficit * weight, pad))
    wide = np.vstack((templates * weight[:, None], np.zeros((3, _CANDIDATES.size))))
    basis, _ = np.linalg.qr(nuisance)
    left = target - basis @ (basis.T @ target)
    wide = wide - basis @ (basis.T @ wide)
    start, projected = left, wide.copy()
    chosen: list[int] = []
    gains: list[float] = []
    for _ in range(most):
        length = np.sqrt(np.einsum("ij,ij->j", wide, wide))
        along = (left @ wide) / np.maximum(length, 1e-9)
        along[length < 1e-3] = 0.0
        best = int(np.argmax(along))
        gain = float(along[best]) ** 2
        if along[best] <= 0.0 or gain < least_gain:
            break
        chosen.append(best)
        gains.append(gain)
        near = np.abs(_CANDIDATES - _CANDIDATES[best]) < APART
        direction = wide[:, best] / length[best]
        left = left - direction * (direction @ left)
        wide = wide - np.outer(direction, direction @ wide)
        wide[:, near] = 0.0
    if not chosen:
        return ()
    size, _ = nnls(projected[:, chosen], start)
    return tuple(
        Stair(float(s), float(_CANDIDATES[k]), g)
        for s, k, g in zip(size, chosen, gains, strict=True)
        if s > 0.0
    )
