"""Key points of many sweeps as arrays, whatever their shape.

A sweep that one diode explains is read off its fitted curve. Where the curve misses more than
noise, the sweep is divided at its steps, each part gets a curve of its own, and what these
still miss is corrected near each key point.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from viewer.physics.curve_fit.fitted_points import (
    I_SC,
    P_MP,
    V_MP,
    FittedPoints,
    fitted_points,
)
from viewer.physics.curve_fit.local_estimates import local_points
from viewer.physics.curve_fit.parameter_spread import student_factor
from viewer.physics.curve_fit.sweep_batch import (
    Sweep,
    SweepBatch,
    blocks_of_similar_length,
    rows_of,
)
from viewer.physics.curve_fit.whole_sweep import ENOUGH, FittedSweeps, fit_sweeps
from viewer.physics.measured_sweep.parted_sweeps import estimate_parted, find_parts, point_noise
from viewer.physics.measured_sweep.v_oc_by_line import with_v_oc_by_line

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class SweepEstimate:
    """What one sweep says. `values` and `uncertainty`: (8,), columns as in fitted_points.

    maxima: (voltage, power) of the local power maxima by rising voltage. steps: voltages [V]
    where the sweep was divided. noise_current [A], noise_voltage [V], misfit (of Isc).
    left_out: numbers of the points taken for outliers.
    """

    values: Array
    uncertainty: Array
    maxima: tuple[tuple[float, float], ...]
    steps: tuple[float, ...]
    noise_current: float
    noise_voltage: float
    misfit: float
    one_diode: bool
    left_out: tuple[int, ...]


def estimate_sweeps(sweeps: Sequence[Sweep]) -> list[SweepEstimate]:
    """An estimate for each clean sweep (see sweep_cleaning), in their order."""
    out: dict[int, SweepEstimate] = {}
    parts: dict[int, list[slice]] = {}
    for block in blocks_of_similar_length(sweeps):
        found = _estimate_block([sweeps[k] for k in block])
        for k, (estimate, cut) in zip(block.tolist(), found, strict=True):
            out[k] = estimate
            if len(cut) > 1:
                parts[k] = cut
    noise = np.array([[out[k].noise_current, out[k].noise_voltage] for k in parts])
    kept = [_without(out[k].left_out, sweeps[k], cut) for k, cut in parts.items()]
    parted = estimate_parted([sweep for sweep, _ in kept], [cut for _, cut in kept], noise)
    for k, one in zip(parts, parted, strict=True):
        steps = tuple(float(sweeps[k][0][part.start]) for part in parts[k][1:])
        out[k] = replace(
            out[k],
            values=one.values,
            uncertainty=one.uncertainty,
            maxima=one.maxima,
            steps=steps,
            noise_current=float(one.noise[0]),
            noise_voltage=float(one.noise[1]),
        )
    return [_with_known_v_oc(sweep, out[k]) for k, sweep in enumerate(sweeps)]


def _without(
    left_out: tuple[int, ...], sweep: Sweep, parts: list[slice]
) -> tuple[Sweep, list[slice]]:
    """The sweep without the points left out, and its parts among those that stay."""
    if not left_out:
        return sweep, parts
    stays = np.ones(sweep[0].size, dtype=bool)
    stays[list(left_out)] = False
    before = np.concatenate(([0], np.cumsum(stays))).tolist()
    cut = [slice(before[part.start], before[part.stop]) for part in parts]
    return (sweep[0][stays], sweep[1][stays]), cut


def _with_known_v_oc(sweep: Sweep, estimate: SweepEstimate) -> SweepEstimate:
    values, uncertainty = with_v_oc_by_line(sweep, estimate.values, estimate.uncertainty)
    if values is estimate.values:
        return estimate
    return replace(estimate, values=values, uncertainty=uncertainty)


def _estimate_block(sweeps: list[Sweep]) -> list[tuple[SweepEstimate, list[slice]]]:
    """For each sweep an estimate from one curve, and its parts."""
    result = fit_sweeps(SweepBatch.of(sweeps), precision=ENOUGH)
    points = fitted_points(result)
    values, uncertainty = points.values, _uncertainty(points, result)
    missed = np.flatnonzero(result.noise.curve_misses)
    parts = {k: find_parts(result, k) for k in map(int, missed)}
    smooth = np.array([k for k in parts if len(parts[k]) == 1], dtype=np.int64)
    if smooth.size:
        rows = rows_of(result, smooth)
        local = local_points(rows, rows_of(points, smooth))
        values[smooth], uncertainty[smooth] = local.values, _uncertainty(local, rows)
    noise = point_noise(result)
    misfit = (
        result.noise.misfit * result.batch.i_unit[:, 0] / np.maximum(np.abs(values[:, I_SC]), 1e-12)
    )
    out = []
    for k in range(len(sweeps)):
        left_out = np.flatnonzero(result.left_out[k]) if result.left_out[k].any() else ()
        estimate = SweepEstimate(
            values=values[k],
            uncertainty=uncertainty[k],
            maxima=((float(values[k, V_MP]), float(values[k, P_MP])),),
            steps=(),
            noise_current=float(noise[k, 0]),
            noise_voltage=float(noise[k, 1]),
            misfit=float(misfit[k]),
            one_diode=k not in parts,
            left_out=tuple(int(n) for n in left_out),
        )
        out.append((estimate, parts.get(k, [])))
    return out


def _uncertainty(points: FittedPoints, result: FittedSweeps) -> Array:
    """Standard uncertainties, widened for few points so that 1.96 of them hold 95 %."""
    wider = student_factor(result.batch.count)
    variance = np.diagonal(points.covariance, axis1=1, axis2=2)
    return np.sqrt(np.maximum(variance, 0.0)) * wider[:, None]
