"""One single-diode curve for each sweep: fitted, its noise found, lone outliers left out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.curve_fit.least_squares import LeastSquares, fit
from viewer.physics.curve_fit.noise import Noise, estimate
from viewer.physics.curve_fit.outliers import outliers
from viewer.physics.curve_fit.starting_values import starting_unknowns, thinned
from viewer.physics.curve_fit.sweep_batch import SweepBatch

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

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
) -> FittedSweeps:
    """Fit each sweep of a block without a starting guess; `repeated` as in noise.estimate."""
    fitted = _first_fit(batch, free, start)
    noise = estimate(batch, fitted, repeated)
    left_out = outliers(batch, fitted, noise)
    if left_out.any():
        batch = batch.only(batch.used & ~left_out)
        fitted = _first_fit(batch, free, start)
        noise = estimate(batch, fitted, repeated)
    share = noise.voltage_share[:, None]
    fitted = fit(batch, fitted.unknowns, share, free, fitted.state.x)
    return FittedSweeps(batch, fitted, estimate(batch, fitted, repeated), left_out)


def _first_fit(batch: SweepBatch, free: Mask | None, start: Array | None) -> LeastSquares:
    """To a few points of each sweep first, then to all of them."""
    share = np.full((len(batch), 1), FIRST_VOLTAGE_SHARE)
    few = thinned(batch)
    if start is None:
        start = starting_unknowns(few)
    rough = fit(few, start, share, free, most_steps=25)
    if few is batch:
        return rough
    return fit(batch, rough.unknowns, share, free, most_steps=10, exact=False)
