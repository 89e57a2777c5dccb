"""Key points of sweeps that were divided at their steps.

Each part gets a curve of its own, corrected near the key point it has to give: Isc comes from
the first part, Voc from the last, maximum power from the best.

Limits without a source are judgement.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from viewer.physics.concave_parts import concave_parts, least_sag_beside
from viewer.physics.curve_fit.fitted_points import (
    FILL,
    I_MP,
    I_SC,
    P_MP,
    SLOPE_OC,
    SLOPE_SC,
    V_MP,
    V_OC,
    fitted_points,
)
from viewer.physics.curve_fit.local_estimates import local_points
from viewer.physics.curve_fit.scaled_diode import LOG_A, D, G, P, R
from viewer.physics.curve_fit.sweep_batch import Sweep, SweepBatch, blocks_of_similar_length
from viewer.physics.curve_fit.whole_sweep import ROUGH, FittedSweeps, fit_sweeps

Array = NDArray[np.float64]

WIDEST_IN_PARTS = 0.075
"""Of Vmp: a part holds groups in unlike states, whose knee is no single diode's."""
LOWEST_CUT = 0.03
"""Of Isc; below, a sag belongs to the end of the sweep and parts nothing."""
FEW_POINTS = 9
"""A part with fewer keeps the diode scale and series resistance of an ordinary module."""
LEAST_MISFIT = 1 / 6
"""Of the least sag: a smaller root mean square leaves no room for one."""
LONG_ENOUGH = 15
"""A part with fewer points takes the noise of the whole sweep."""
LARGEST_DEPARTURE = 0.1
"""Of the best measured point's power, from a maximum that is believed."""
SMALLEST_DIP = 0.005
"""Of the lower of two power maxima; a shallower dip between them does not part them."""


@dataclass(frozen=True, eq=False)
class PartedEstimate:
    """`values`, `uncertainty` (8,) as in fitted_points, `noise` (2,) of a point in A and V, and
    the local power maxima (V, W) by rising voltage."""

    values: Array
    uncertainty: Array
    noise: Array
    maxima: tuple[tuple[float, float], ...]


def point_noise(result: FittedSweeps) -> Array:
    """Noise of a point in A and in V, (sweeps, 2)."""
    return np.stack(
        [
            result.noise.current * result.batch.i_unit[:, 0],
            result.noise.voltage * result.batch.v_unit[:, 0],
        ],
        axis=1,
    )


def find_parts(result: FittedSweeps, k: int) -> list[slice]:
    """The concave parts of sweep `k`; one that holds all its points where there is no step."""
    used = result.batch.used[k]
    least_sag = least_sag_beside(float(result.noise.current[k]))
    places = np.flatnonzero(used)
    whole = [slice(0, int(places[-1]) + 1)]
    if result.noise.misfit[k] < least_sag * LEAST_MISFIT:
        return whole
    voltage, current = result.batch.voltage[k, places], result.batch.current[k, places]
    found = concave_parts(voltage, current, least_sag)
    cuts = [int(places[part.start]) for part in found[1:]]
    cuts = [cut for cut in cuts if result.batch.current[k, cut] > LOWEST_CUT]
    return [slice(a, b) for a, b in pairwise([0, *cuts, whole[0].stop])]


def estimate_parted(
    sweeps: list[Sweep], parts: list[list[slice]], noise: Array
) -> list[PartedEstimate]:
    """An estimate for each sweep from its parts.

    noise: (sweeps, 2) as the whole sweeps show it; short parts cannot tell their own.
    """
    pieces = [(v[part], i[part]) for (v, i), cut in zip(sweeps, parts, strict=True) for part in cut]
    owner = np.repeat(np.arange(len(sweeps)), [len(cut) for cut in parts])
    first = np.concatenate([[True], np.diff(owner) > 0])
    last = np.concatenate([np.diff(owner) > 0, [True]])
    values, uncertainty = np.empty((len(pieces), 8)), np.empty((len(pieces), 8))
    own_noise = np.empty((len(pieces), 2))
    for block in blocks_of_similar_length(pieces) if pieces else []:
        members = [pieces[k] for k in block]
        ends = np.flatnonzero(first[block]), np.flatnonzero(last[block])
        found = _fit_pieces(members, noise[owner[block]], ends)
        values[block], uncertainty[block], own_noise[block] = found
    out = []
    for k, sweep in enumerate(sweeps):
        mine = np.flatnonzero(owner == k)
        longest = mine[int(np.argmax([pieces[n][0].size for n in mine]))]
        joined = _joined(sweep, [pieces[n] for n in mine], values[mine], uncertainty[mine])
        out.append(PartedEstimate(joined[0], joined[1], own_noise[longest], joined[2]))
    return out


def _fit_pieces(
    pieces: list[Sweep], noise: Array, ends: tuple[NDArray[np.int64], NDArray[np.int64]]
) -> tuple[Array, Array, Array]:
    """Values, uncertainty and noise of parts; `ends`: those with Isc and those with Voc."""
    batch = SweepBatch.of(pieces)
    free = np.ones((len(pieces), 5), dtype=bool)
    free[np.ix_(batch.count < FEW_POINTS, np.array([LOG_A, R]))] = False
    result = _with_noise(fit_sweeps(batch, free, _starts(free), precision=ROUGH), noise)
    points = local_points(result, fitted_points(result), WIDEST_IN_PARTS, ends)
    uncertainty = np.sqrt(np.diagonal(points.covariance, axis1=1, axis2=2))
    return points.values, uncertainty, point_noise(result)


def _starts(free: NDArray[np.bool_]) -> Array | None:
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
    _mend_maxima(pieces, values, uncertainty)
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


def _mend_maxima(pieces: list[Sweep], values: Array, uncertainty: Array) -> None:
    """Where a part's curve went astray or leaves its maximum open, its best measured point stands
    for it."""
    for part, (voltage, current) in enumerate(pieces):
        top = int(np.argmax(voltage * current))
        power = voltage[top] * current[top]
        near = abs(values[part, P_MP] - power) <= LARGEST_DEPARTURE * abs(power)
        if near and uncertainty[part, V_MP] < LARGEST_DEPARTURE * abs(values[part, V_MP]):
            continue
        for which, value in ((V_MP, voltage[top]), (I_MP, current[top]), (P_MP, power)):
            values[part, which] = value
            uncertainty[part, which] = LARGEST_DEPARTURE * abs(value) / 3.0


def _peaks(sweep: Sweep, pieces: list[Sweep], values: Array) -> list[int]:
    """Parts that have a power maximum of their own, parted by a real dip."""
    voltage, power = sweep[0], sweep[0] * sweep[1]
    top = float(voltage[np.argmax(power)])
    inside = [
        part
        for part, (v, _) in enumerate(pieces)
        if v[0] < values[part, V_MP] < v[-1] or v[0] <= top <= v[-1]
    ] or [0]
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
