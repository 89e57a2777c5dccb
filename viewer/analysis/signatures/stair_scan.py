"""The stair that a fit still lacks, looked for in what the fit leaves.

A stair of one group in a long string is a hundredth of the voltage, which a single point's noise
hides. But all points beyond the stair's beginning lie lower, and what else could lower them
(shift, resistance, leak, the knee) is known from the fit's derivatives and from what is usual in
a string. Each candidate is a whole number of groups, as limited groups are; the one that
explains most of the residuals, beside everything that the fit may still move, is the stair.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.lapack import dposv

from viewer.analysis.signatures.stair_search import LIMITED_CELLS, ONE_CELL
from viewer.analysis.signatures.usual_string import UsualString
from viewer.analysis.string_fit.reduced_string import (
    CURRENT,
    DROP,
    KNEE,
    LEAK,
    SHIFT,
    SPREAD,
    TABLE_VOLTAGES,
    Reference,
)
from viewer.analysis.string_fit.signature_fit import USUAL_STAIR_LEAK, Fit
from viewer.analysis.string_fit.string_curves import carrying, short_of_diodes

Array = NDArray[np.float64]

_EDGES = np.concatenate(([0.01, 0.03], np.linspace(0.06, 0.90, 24), np.linspace(0.92, 0.985, 5)))
_FRACTIONS = np.concatenate(([0.0, 0.02], np.linspace(0.05, 0.95, 22)))
_CELLS = np.array(LIMITED_CELLS)
MOST_GROUPS = 12
_MOST = np.where(np.tile(_CELLS, _FRACTIONS.size) < ONE_CELL, 1.0, MOST_GROUPS)
_FALLING = np.concatenate(([-np.inf], -_EDGES[::-1]))
SHARED_ERROR = 1e-3
"""What the reduced string may be wrong by in voltage (in units, judgement), the same for all points
of a level; the MODEL_VOLTAGE of `sweep_noise` is each point's own."""


@dataclass(frozen=True, eq=False)
class Candidate:
    """`share` of the string limited to `fraction`, of whose cells the share `cells` is limited.

    `gain` is by how much the squared residuals would fall.
    """

    share: float
    fraction: float
    cells: float
    gain: float
    start: Array
    """The fit's vector with that stair more, the rest moved as the derivatives say."""


def scan(reference: Reference, fit: Fit, usual: UsualString) -> Candidate:
    """The best stair to add to the fit."""
    level, squared, off, slopes = _by_level(fit)
    kept = 1.0 / (1.0 + SHARED_ERROR**2 * squared)
    shared = (SHARED_ERROR**2 * kept) * slopes
    losses = _losses(reference, fit.vector, level)

    rows, values = usual.ties(fit.vector, fit.present)
    rows = rows[:, fit.free]
    normal = fit.normal - slopes @ shared.T + rows.T @ rows
    pull = fit.gradient + values @ rows - shared @ off
    seen = losses @ np.vstack((kept * slopes, kept * off)).T
    across, along = -seen[:, :-1], -seen[:, -1]
    moved = dposv(normal, np.vstack((across, pull)).T)[1]
    along = along - across @ moved[:, -1]
    length = (losses * losses) @ (kept * squared) - (across * moved[:, :-1].T).sum(axis=1)
    length = np.maximum(length, 1e-12)
    room = max(round((fit.present - fit.stair_share) * usual.groups) - 1, 1)
    whole = np.round(along / length * usual.groups)
    size = np.minimum(np.maximum(whole, 1.0), np.minimum(_MOST, room)) / usual.groups
    gain = size * (2.0 * along - size * length)
    best = int(np.argmax(gain))
    fraction, cells = divmod(best, _CELLS.size)
    stair = (float(size[best]), float(_FRACTIONS[fraction]), float(_CELLS[cells]))
    start = fit.vector.copy()
    start[fit.free] += moved[:, -1] - stair[0] * moved[:, best]
    return Candidate(*stair, float(gain[best]), np.concatenate((start, stair, [USUAL_STAIR_LEAK])))


def _by_level(fit: Fit) -> tuple[Array, Array, Array, Array]:
    """Points of near currents taken together: their current, and over their voltages' stiffness
    the sum of squares (n,), of residuals (n,) and of derivatives (f, n)."""
    model, stiffness = fit.model, fit.per_volt
    bounds = np.searchsorted(-model, _FALLING * float(fit.vector[CURRENT]))
    bounds[0] = 0
    inside = bounds < model.size
    inside[1:] &= bounds[1:] > bounds[:-1]
    columns = np.empty((fit.free.size + 3, model.size))
    columns[0], columns[1], columns[2] = stiffness, stiffness * model, fit.residual
    columns[3:] = fit.jacobian
    columns *= stiffness
    sums = np.add.reduceat(columns, bounds[inside], axis=1)
    return sums[1] / sums[0], sums[0], sums[2], sums[3:]


def _losses(reference: Reference, vector: Array, level: Array) -> Array:
    """Voltage that each candidate takes from the string at the currents `level`; (k, n).

    For a candidate that is the whole string.
    """
    c, shift, knee = (float(vector[place]) for place in (CURRENT, SHIFT, KNEE))
    leak = max(float(vector[LEAK]), 0.0)
    table = reference.table + leak * TABLE_VOLTAGES
    floor = -reference.bypass_drop * float(vector[DROP])
    rest = reference.series * level - (shift - knee)
    below = short_of_diodes(reference.conductance + leak, floor, rest, 1.0 + knee)
    healthy = carrying(c * float(vector[SPREAD]), c - level + below)
    normal = (1.0 + knee) * np.interp(healthy.net - below, table, TABLE_VOLTAGES)
    sound = healthy.volts(normal - rest, floor)
    table = table + USUAL_STAIR_LEAK * TABLE_VOLTAGES
    limited = np.interp(c * _FRACTIONS[:, None] - level, table, TABLE_VOLTAGES)
    limited *= 1.0 + knee
    limited -= normal
    taken = _CELLS[:, None] * limited[:, None, :]
    taken += normal - rest
    np.maximum(taken, floor, out=taken)
    np.subtract(sound, taken, out=taken)
    return taken.reshape(-1, level.size)
