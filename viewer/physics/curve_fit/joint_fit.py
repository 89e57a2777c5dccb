"""One curve for several sweeps of the same device at the same conditions."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from viewer.physics.curve_fit.lasting_noise import (
    Course,
    LastingNoise,
    estimate_lasting,
    lasting_part,
    whiten,
)
from viewer.physics.curve_fit.least_squares import (
    HIGHEST,
    LOWEST,
    LeastSquares,
    fit,
    symmetric_inverse,
)
from viewer.physics.curve_fit.scaled_diode import deviation, sensitivities
from viewer.physics.curve_fit.sweep_batch import SweepBatch
from viewer.physics.curve_fit.whole_sweep import FittedSweeps

Array = NDArray[np.float64]

ENOUGH_SWEEPS = 5
"""From this many on, noise that lasts through a sweep is told from what the curve misses."""
ROUNDS = 2
STEPS = 6


@dataclass(frozen=True, eq=False)
class JointFit:
    """`unknowns` (5,) and their `covariance` (5, 5)."""

    unknowns: Array
    covariance: Array


def refine_jointly(merged: FittedSweeps, member: NDArray[np.int64], free: Array) -> JointFit:
    """Weigh the points by the noise the sweeps have in common and what each keeps to itself.

    merged: a fit to all points in one row; member: (points,) the sweep of each; free: (5,)
    False for unknowns that keep their value. Generalised least squares with the noise of
    lasting_noise; the covariance is that of the sums over sweeps.
    """
    rows = _by_sweep(merged, member)
    share = np.repeat(merged.fitted.voltage_share, len(rows), axis=0)
    unknowns = merged.fitted.unknowns[0].copy()
    curve = _projected(rows, rows, unknowns, share)
    noise: LastingNoise | None = None
    for _ in range(ROUNDS):
        above, course = _course(rows, curve)
        noise = estimate_lasting(above, course, noise)
        lasting, variance = lasting_part(noise, course, above)
        steady = replace(rows, current=rows.current - np.where(rows.used, lasting, 0.0))
        share = noise.voltage / np.sqrt(noise.white**2 + np.maximum(variance, 0.0))
        for _ in range(STEPS):
            pull, normal, scores = _weighed(rows, curve, noise, free)
            change = symmetric_inverse(normal) @ pull * free
            unknowns = np.clip(unknowns + change, LOWEST, HIGHEST)
            free = free & ~((unknowns <= LOWEST) & (pull < 0))
            curve = _projected(rows, steady, unknowns, share)
            if np.max(np.abs(change)) < 1e-9:
                break
    inverse = symmetric_inverse(normal)
    count = len(scores)
    covariance = inverse @ (scores.T @ scores) @ inverse * (count / (count - 1.0))
    covariance *= free[:, None] * free[None, :]
    return JointFit(unknowns, covariance)


def _by_sweep(merged: FittedSweeps, member: NDArray[np.int64]) -> SweepBatch:
    """The points of one row set out in a row for each sweep, in the same units."""
    batch = merged.batch
    order = np.argsort(member, kind="stable")
    counts = np.bincount(member)
    row, place = member[order], np.concatenate([np.arange(n) for n in counts])
    shape = (counts.size, int(counts.max()))
    voltage, current = np.zeros(shape), np.zeros(shape)
    used = np.zeros(shape, dtype=bool)
    voltage[row, place] = batch.voltage[0, order]
    current[row, place] = batch.current[0, order]
    used[row, place] = batch.used[0, order]
    units = np.ones((counts.size, 1))
    return SweepBatch(
        voltage, current, used, units * batch.v_unit[0, 0], units * batch.i_unit[0, 0]
    )


def _projected(rows: SweepBatch, steady: SweepBatch, unknowns: Array, share: Array) -> LeastSquares:
    """The curve at the places nearest to the points of `steady`, with the deviations of `rows`.

    steady: the points without the noise that lasts, which leaves them nearer to their true
    places; share: noise in voltage over noise in current of these.
    """
    start = np.repeat(unknowns[None], len(rows), axis=0)
    curve = fit(steady, start, share, np.zeros(start.shape, dtype=bool), most_steps=4)
    return replace(curve, deviation=deviation(curve.state, rows))


def _course(rows: SweepBatch, curve: LeastSquares) -> tuple[Array, Course]:
    steepness = (curve.state.conductance / curve.state.stretch) ** 2
    return curve.deviation / curve.state.stretch, Course(rows.voltage, steepness, rows.used)


def _weighed(
    rows: SweepBatch, curve: LeastSquares, noise: LastingNoise, free: Array
) -> tuple[Array, Array, Array]:
    """Right side (5,), normal matrix (5, 5) and the right side's parts by sweep."""
    above, course = _course(rows, curve)
    slopes = sensitivities(curve.unknowns, curve.state) / curve.state.stretch[:, None, :]
    slopes *= free[:, None]
    series, _ = whiten(noise, course, np.concatenate([slopes, above[:, None, :]], axis=1))
    scores = np.einsum("nkp,np->nk", series[:, :5], series[:, 5])
    normal = np.einsum("nkp,nlp->kl", series[:, :5], series[:, :5])
    held = np.flatnonzero(~free.astype(bool))
    normal[held, held] = 1.0
    return scores.sum(axis=0), normal, scores


def with_joint(merged: FittedSweeps, joint: JointFit) -> FittedSweeps:
    """The merged fit with its unknowns replaced and its points placed anew."""
    curve = fit(
        merged.batch,
        joint.unknowns[None],
        merged.fitted.voltage_share,
        np.zeros((1, 5), dtype=bool),
        merged.fitted.state.x,
        most_steps=4,
    )
    return replace(merged, fitted=replace(curve, converged=merged.fitted.converged))
