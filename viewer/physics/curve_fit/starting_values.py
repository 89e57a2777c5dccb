"""Starting values without a guess: the three unknowns that enter linearly are solved for
at each of a small grid of the two that do not (variable projection, G. H. Golub and
V. Pereyra, SIAM J. Numer. Anal. 10 (1973) 413-432)."""

import numpy as np
from numpy.typing import NDArray

from viewer.physics.curve_fit.scaled_diode import LOG_A, D, G, P, R
from viewer.physics.curve_fit.sweep_batch import SweepBatch

Array = NDArray[np.float64]

DIODE_SCALES = np.array([0.022, 0.031, 0.044, 0.062, 0.09, 0.14])
"""a over Voc: a crystalline cell of diode factor 1 has 0.04, a leaky film of factor 2 has 0.1."""
SERIES_RESISTANCES = np.array([0.0, 0.015, 0.04, 0.09, 0.18])
"""r in units of Voc / Isc."""
POINTS = 40
START_POINTS = 20
LEAST_CONDUCTANCE = -0.3


def starting_unknowns(batch: SweepBatch) -> Array:
    """The best of the grid for each sweep, (sweeps, 5)."""
    few = thinned(batch, START_POINTS)
    v, i, used = few.voltage, few.current, few.used
    a, r = (x.ravel() for x in np.meshgrid(DIODE_SCALES, SERIES_RESISTANCES))
    x = v[:, None, :] + i[:, None, :] * r[:, None]
    at_zero = np.exp(-1.0 / a)
    diode = np.exp(np.minimum((x - 1.0) / a[:, None], 8.0)) - at_zero[:, None]
    steep = diode * (r / a)[:, None]
    weight = used[:, None, :] / (1.0 + steep)
    basis = np.stack([np.broadcast_to(1.0, x.shape), -x, -diode], axis=2) * weight[:, :, None]
    target = i[:, None, :] * weight
    normal = basis @ basis.swapaxes(2, 3)
    normal[..., range(3), range(3)] *= 1.0 + 1e-9
    normal[..., range(3), range(3)] += 1e-12
    linear = np.linalg.solve(normal, (basis @ target[..., None]))[..., 0]
    # the equation's misfit becomes one in current when divided by 1 + r times the conductance
    misfit = (target - np.einsum("ngkp,ngk->ngp", basis, linear)) * (1.0 + steep)
    misfit /= 1.0 + np.maximum(linear[..., 2:], 0.0) * steep
    misfit = np.einsum("ngp,ngp->ng", misfit, misfit)
    sensible = (linear[..., 2] > 0) & (linear[..., 0] > 0) & (linear[..., 1] > LEAST_CONDUCTANCE)
    best = np.argmin(np.where(sensible, misfit, np.inf), axis=1)
    rows = np.arange(len(batch))
    chosen = linear[rows, best]
    out = np.empty((len(batch), 5))
    out[:, P] = np.maximum(chosen[:, 0], 0.05)
    out[:, G] = np.maximum(chosen[:, 1], LEAST_CONDUCTANCE)
    out[:, D] = np.log(np.maximum(chosen[:, 2], 1e-3))
    out[:, LOG_A] = np.log(a[best])
    out[:, R] = r[best]
    return out


def thinned(batch: SweepBatch, points: int = POINTS) -> SweepBatch:
    """At most `points` points of each sweep, evenly in number."""
    if batch.voltage.shape[1] <= points:
        return batch
    count = np.maximum(batch.count, 1)[:, None]
    pick = (np.linspace(0.0, 1.0, points) * (count - 1)).round().astype(np.int64)
    if not batch.used[:, 0].all() or (np.diff(batch.used, axis=1).sum(axis=1) > 1).any():
        counted = np.argsort(~batch.used, axis=1, kind="stable")
        pick = np.take_along_axis(counted, pick, axis=1)
    used = np.ones(pick.shape, dtype=bool)
    used[:, 1:] = np.diff(pick, axis=1) > 0
    return SweepBatch(
        np.take_along_axis(batch.voltage, pick, axis=1),
        np.take_along_axis(batch.current, pick, axis=1),
        used & np.take_along_axis(batch.used, pick, axis=1),
        batch.v_unit,
        batch.i_unit,
    )
