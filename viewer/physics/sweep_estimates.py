"""Key points of many sweeps as arrays, whatever their shape.

A sweep that one diode explains is read off its fitted curve. Where the curve misses more than
noise, the sweep is divided at its steps, each part gets a curve of its own, and what these
still miss is corrected near each key point.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from viewer.physics.concave_parts import LEAST_SAG, concave_parts
from viewer.physics.curve_fit.fitted_points import (
    FILL,
    I_MP,
    I_SC,
    P_MP,
    SLOPE_OC,
    SLOPE_SC,
    V_MP,
    V_OC,
    FittedPoints,
    fitted_points,
)
from viewer.physics.curve_fit.local_estimates import local_points
from viewer.physics.curve_fit.noise import UNKNOWNS
from viewer.physics.curve_fit.scaled_diode import LOG_A, D, G, P, R
from viewer.physics.curve_fit.sweep_batch import (
    Sweep,
    SweepBatch,
    blocks_of_similar_length,
    rows_of,
)
from viewer.physics.curve_fit.whole_sweep import FittedSweeps, fit_sweeps

Array = NDArray[np.float64]

NOISES_IN_A_SAG = 7.0
WIDEST_IN_PARTS = 0.075
"""Of Vmp: a part holds groups in unlike states, whose knee is no single diode's."""
LOWEST_CUT = 0.03
"""Of Isc; below, a sag belongs to the end of the sweep and parts nothing."""
FEW_POINTS = 9
"""A part with fewer keeps the diode scale and series resistance of an ordinary module."""
LONG_ENOUGH = 15
"""A part with fewer points takes the noise of the whole sweep."""
SMALLEST_DIP = 0.005
"""Of the lower of two power maxima; a shallower dip between them does not part them."""


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
    out: list[SweepEstimate | None] = [None] * len(sweeps)
    for block in blocks_of_similar_length(sweeps):
        members = [sweeps[k] for k in block]
        for k, estimate in zip(block, _estimate_block(members), strict=True):
            out[k] = estimate
    return [estimate for estimate in out if estimate is not None]


def _estimate_block(sweeps: list[Sweep]) -> list[SweepEstimate]:
    result = fit_sweeps(SweepBatch.of(sweeps))
    points = fitted_points(result)
    values, uncertainty = points.values, _uncertainty(points, result)
    missed = np.flatnonzero(result.noise.curve_misses)
    parts = {int(k): _parts(result, k) for k in missed}
    stepped = [k for k in parts if len(parts[k]) > 1]
    smooth = np.array([k for k in parts if len(parts[k]) == 1], dtype=np.int64)
    if smooth.size:
        rows = rows_of(result, smooth)
        local = local_points(rows, rows_of(points, smooth))
        values[smooth], uncertainty[smooth] = local.values, _uncertainty(local, rows)
    maxima = [((float(row[V_MP]), float(row[P_MP])),) for row in values]
    noise = _point_noise(result)
    for k, found in zip(stepped, _from_parts(sweeps, parts, stepped, noise), strict=True):
        values[k], uncertainty[k], noise[k], maxima[k] = found
    i_unit = result.batch.i_unit[:, 0]
    out = []
    for k, (voltage, _) in enumerate(sweeps):
        steps = tuple(float(voltage[part.start]) for part in parts.get(k, [])[1:])
        left_out = tuple(int(n) for n in np.flatnonzero(result.left_out[k]))
        out.append(
            SweepEstimate(
                values[k],
                uncertainty[k],
                maxima[k],
                steps,
                float(noise[k, 0]),
                float(noise[k, 1]),
                float(result.noise.misfit[k] * i_unit[k] / max(abs(values[k, I_SC]), 1e-12)),
                k not in parts,
                left_out,
            )
        )
    return out


def _uncertainty(points: FittedPoints, result: FittedSweeps) -> Array:
    """Standard uncertainties, widened for few points so that 1.96 of them hold 95 %."""
    freedom = np.maximum(result.batch.count - UNKNOWNS, 1)
    wider = student.ppf(0.975, freedom) / 1.959964
    variance = np.diagonal(points.covariance, axis1=1, axis2=2)
    return np.sqrt(np.maximum(variance, 0.0)) * wider[:, None]


def _point_noise(result: FittedSweeps) -> Array:
    """Noise of a point in A and in V, (sweeps, 2)."""
    return np.stack(
        [
            result.noise.current * result.batch.i_unit[:, 0],
            result.noise.voltage * result.batch.v_unit[:, 0],
        ],
        axis=1,
    )


def _parts(result: FittedSweeps, k: int) -> list[slice]:
    used = result.batch.used[k]
    noise = result.noise.current[k]
    if noise == 0.0:
        return [slice(0, int(used.sum()))]
    least_sag = max(LEAST_SAG, NOISES_IN_A_SAG * float(noise))
    places = np.flatnonzero(used)
    found = concave_parts(
        result.batch.voltage[k, places], result.batch.current[k, places], least_sag
    )
    found = [
        part
        for part in found
        if part.start == 0 or result.batch.current[k, places[part.start]] > LOWEST_CUT
    ]
    edges = [int(places[part.start]) for part in found] + [int(places[-1]) + 1]
    edges[0] = 0
    return [slice(a, b) for a, b in pairwise(edges)]


Found = tuple[Array, Array, Array, tuple[tuple[float, float], ...]]


def _from_parts(
    sweeps: list[Sweep], parts: dict[int, list[slice]], stepped: list[int], noise: Array
) -> list[Found]:
    """Values, uncertainty, noise and power maxima of sweeps that were divided.

    noise: (sweeps, 2) as the whole sweeps show it; short parts cannot tell their own.
    """
    if not stepped:
        return []
    pieces = [(sweeps[k][0][part], sweeps[k][1][part]) for k in stepped for part in parts[k]]
    batch = SweepBatch.of(pieces)
    free = np.ones((len(pieces), 5), dtype=bool)
    free[np.ix_(batch.count < FEW_POINTS, [LOG_A, R])] = False
    result = fit_sweeps(batch, free, _starts(batch, free))
    whole = noise[np.repeat(stepped, [len(parts[k]) for k in stepped])]
    result = _with_noise(result, whole)
    own = _point_noise(result)
    points = local_points(result, fitted_points(result), WIDEST_IN_PARTS)
    uncertainty = np.sqrt(np.diagonal(points.covariance, axis1=1, axis2=2))
    out: list[Found] = []
    first = 0
    for k in stepped:
        rows = slice(first, first + len(parts[k]))
        first = rows.stop
        values, spread, maxima = _joined(
            sweeps[k], pieces[rows], points.values[rows], uncertainty[rows]
        )
        longest = rows.start + int(np.argmax(batch.count[rows]))
        out.append((values, spread, own[longest], maxima))
    return out


def _starts(batch: SweepBatch, free: NDArray[np.bool_]) -> Array | None:
    """Starts for all parts when some are short; None lets every part find its own."""
    if free.all():
        return None
    start = np.empty(free.shape)
    start[:, P], start[:, G], start[:, D] = 1.0, 0.02, -0.5
    start[:, LOG_A], start[:, R] = np.log(0.045), 0.03
    return start


def _with_noise(result: FittedSweeps, whole: Array) -> FittedSweeps:
    """Short parts take the noise of their whole sweep."""
    short = result.batch.count < LONG_ENOUGH
    current = np.where(short, whole[:, 0] / result.batch.i_unit[:, 0], result.noise.current)
    voltage = np.where(short, whole[:, 1] / result.batch.v_unit[:, 0], result.noise.voltage)
    return replace(result, noise=replace(result.noise, current=current, voltage=voltage))


def _joined(
    sweep: Sweep, pieces: list[Sweep], values: Array, uncertainty: Array
) -> tuple[Array, Array, tuple[tuple[float, float], ...]]:
    """Isc from the first part, Voc from the last, maximum power from the best part."""
    peaks = _peaks(sweep, pieces, values)
    best = max(peaks, key=lambda part: values[part, P_MP])
    source = {I_SC: 0, SLOPE_SC: 0, V_OC: -1, SLOPE_OC: -1, I_MP: best, V_MP: best, P_MP: best}
    out, spread = np.empty(8), np.empty(8)
    for which, part in source.items():
        out[which], spread[which] = values[part, which], uncertainty[part, which]
    out[FILL] = out[P_MP] / (out[I_SC] * out[V_OC])
    relative = [spread[which] / out[which] for which in (P_MP, I_SC, V_OC)]
    spread[FILL] = abs(out[FILL]) * float(np.sqrt(np.sum(np.square(relative))))
    maxima = tuple((float(values[part, V_MP]), float(values[part, P_MP])) for part in peaks)
    return out, spread, maxima


def _peaks(sweep: Sweep, pieces: list[Sweep], values: Array) -> list[int]:
    """Parts that have a power maximum of their own, parted by a real dip."""
    voltage, power = sweep[0], sweep[0] * sweep[1]
    top = float(voltage[np.argmax(power)])
    inside = [
        part
        for part, (v, _) in enumerate(pieces)
        if v[0] < values[part, V_MP] < v[-1] or v[0] <= top <= v[-1]
    ]
    kept: list[int] = []
    for part in inside:
        if not kept:
            kept.append(part)
            continue
        between = (voltage > values[kept[-1], V_MP]) & (voltage < values[part, V_MP])
        lower = min(values[kept[-1], P_MP], values[part, P_MP])
        dip = lower - (power[between].min() if between.any() else lower)
        if dip > SMALLEST_DIP * abs(lower):
            kept.append(part)
        elif values[part, P_MP] > values[kept[-1], P_MP]:
            kept[-1] = part
    return kept
