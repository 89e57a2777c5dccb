"""One single-diode curve for each sweep: fitted, its noise found, lone outliers left out."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from viewer.physics.curve_fit.least_squares import EXACT, LeastSquares, approach, fit
from viewer.physics.curve_fit.noise import Noise, estimate, voltage_share
from viewer.physics.curve_fit.outliers import confirmed, most_suspicious, outliers
from viewer.physics.curve_fit.scaled_diode import R
from viewer.physics.curve_fit.starting_values import starting_unknowns, thinned
from viewer.physics.curve_fit.sweep_batch import SweepBatch, rows_of, with_rows

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

ROUGH = 1e-3
"""Precision of fits that only prepare the last one."""
ENOUGH = 1e-6
"""Precision that adds a hundredth of the noise's effect or less."""
FIRST_VOLTAGE_SHARE = 0.3
"""Noise in voltage over noise in current, per unit, until the sweep tells its own."""


@dataclass(frozen=True, eq=False)
class FittedSweeps:
    """`batch` with outliers taken out of its used points, the fit and the noise around it."""

    batch: SweepBatch
    fitted: LeastSquares
    noise: Noise
    left_out: Mask


def fit_sweeps(
    batch: SweepBatch,
    free: Mask | None = None,
    start: Array | None = None,
    repeated: bool = False,
    precision: float = EXACT,
) -> FittedSweeps:
    """Fit each sweep of a block without a starting guess.

    repeated: as in noise.estimate; free, precision: as in least_squares.fit; start: for all sweeps,
    in place of values found from the points.
    """
    every = np.arange(len(batch))
    suspects = most_suspicious(batch)
    result = _fit_rows(batch.only(batch.used & ~suspects), every, free, start, repeated, precision)
    left_out = confirmed(suspects, result.fitted, result.noise)
    found = outliers(result.batch, result.fitted, result.noise)
    rows = np.flatnonzero((found | (suspects & ~left_out)).any(axis=1))
    if rows.size:
        batch = batch.only(batch.used & ~(left_out | found))
        again = _fit_rows(batch, rows, free, start, repeated, precision)
        result = with_rows(result, rows, again)
    return replace(result, left_out=left_out | found)


def _fit_rows(
    batch: SweepBatch,
    rows: NDArray[np.int64],
    free: Mask | None,
    start: Array | None,
    repeated: bool,
    precision: float,
) -> FittedSweeps:
    free = None if free is None else free[rows]
    start = None if start is None else start[rows]
    return _fit_once(rows_of(batch, rows), free, start, repeated, precision)


def _fit_once(
    batch: SweepBatch, free: Mask | None, start: Array | None, repeated: bool, precision: float
) -> FittedSweeps:
    """To a few points of each sweep first, to all of them, then with the weights these suggest."""
    share = np.full((len(batch), 1), FIRST_VOLTAGE_SHARE)
    few = thinned(batch)
    first = starting_unknowns(few) if start is None else start
    near = approach(few, first, share, free, most_steps=20, precision=ROUGH)
    if few is not batch:
        x = batch.voltage + batch.current * near.unknowns[:, R, None]
        near = approach(batch, near.unknowns, share, free, x, 6, ROUGH)
    share = voltage_share(batch, near)
    steps = 60 if precision == EXACT else 15
    fitted = fit(batch, near.unknowns, share, free, near.state.x, steps, precision)
    nothing = np.zeros(batch.used.shape, dtype=bool)
    return FittedSweeps(batch, fitted, estimate(batch, fitted, repeated), nothing)
