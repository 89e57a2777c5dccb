"""Where the stairs are: the voltage deficit read in the direction of rising current.

The deficit (predicted less measured voltage at equal current) of limited groups is a staircase:
each stair begins at the current that the groups' photocurrent allows and is as high as those
groups. The search takes one stair after another, each time the one that explains most of the
remaining deficit beside a shift, a slope (series resistance) and a bend (diode factor).
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from viewer.analysis.signatures.concavity import feet_of
from viewer.analysis.string_fit.reduced_string import TABLE_VOLTAGES, Reference
from viewer.analysis.string_fit.signature_fit import USUAL_STAIR_LEAK, Sweep

Array = NDArray[np.float64]

_LEVELS = np.concatenate(([0.012, 0.03], np.linspace(0.05, 0.90, 40), np.linspace(0.915, 0.985, 6)))
_CANDIDATES = np.concatenate(([0.0, 0.02], np.linspace(0.04, 0.96, 56)))
LIMITED_CELLS = (1.0, 0.35, 0.12, 0.045)
"""Shares of a group's cells that are limited: all, a path of a half-cut module, few, one."""
_FRACTIONS = np.tile(_CANDIDATES, len(LIMITED_CELLS))
_SHARES = np.repeat(LIMITED_CELLS, _CANDIDATES.size)
APART = 0.05
"""Stairs closer together than this (in units of the current) are found as one."""
MOST_STAIRS = 4
MOST_MANY, MANY_OF = 8, 0.9
"""Where stairs are plain to see, up to so many of at least so many cells are looked for as well."""
FEET_OF_STAIRS = 2
"""Hollows of the curve that no leak makes; a single one may be a stair beside leaks."""
LEAST_GAIN = 9.0
"""In squared deviations: three standard deviations of a stair's height."""
ONE_CELL, MOST_SINGLE = 0.1, 1.3
"""A single limited cell is in one group, not in several at once."""
LEAST_SHARE = 0.7
"""Of a group: no stair is smaller."""
LEAST_KEPT = 0.4
"""Of a group: a stair that shrinks below this beside the later ones was none."""
_NUISANCE_WIDTH = np.array([0.05, 0.08, 0.05])
"""Standard deviations (in units) of shift, series resistance and bend beside the stairs, so that
they do not take what a stair explains (judgement)."""


@dataclass(frozen=True)
class Stair:
    """`share` of the string's voltage lost from `fraction` of its current on; `gain` in chi².

    `cells` is the share of the groups' cells that is limited: few tilt the stair.
    """

    share: float
    fraction: float
    cells: float
    gain: float


@dataclass(frozen=True)
class Deficit:
    """The stairs of a deficit, largest gain first, and what else it holds (in units)."""

    stairs: tuple[Stair, ...]
    shift: float
    series: float
    knee: float


def stairs_are_plain(sweep: Sweep) -> bool:
    """Whether the curve bends the wrong way more than once: leaks never bend it so."""
    return len(feet_of(sweep.voltage, sweep.current, measured_scale(sweep))) >= FEET_OF_STAIRS


def measured_scale(sweep: Sweep) -> float:
    """Short-circuit current over predicted photocurrent, from the lowest voltages, robustly."""
    current = sweep.current
    count = max(5, min(current.size // 25, 13)) // 2 * 2 + 1
    return float(np.partition(current[:count], count // 2)[count // 2])


def voltage_at_levels(sweep: Sweep, levels: Array) -> Array:
    """Measured voltage at falling-current levels, by the decreasing rearrangement.

    Sorting the currents makes the noisy sweep monotone without moving its area.
    """
    ordered = np.sort(sweep.current)
    return np.interp(levels, ordered, sweep.voltage[::-1])


def read_deficit(
    reference: Reference, sweep: Sweep, groups: int, scale: float, present: float
) -> Iterator[Deficit]:
    """What the sweep's voltage deficit may hold: each reading once, the most open-minded first.

    `groups` are the string's, `scale` is measured over predicted current, `present` the share of
    groups left.
    """
    levels = _LEVELS * scale
    measured = voltage_at_levels(sweep, levels)
    healthy, templates = _templates(reference, levels, scale)
    weight = _weights(sweep, measured, levels)[:, None]
    nuisance = np.stack((np.ones_like(levels), levels, healthy - 1.0), axis=1) * weight
    nuisance = np.vstack((nuisance, np.diag(1.0 / _NUISANCE_WIDTH)))
    pad = np.zeros((3, templates.shape[1] + 1))
    deficit = (present * healthy - measured)[:, None]
    columns = np.vstack((np.hstack((templates, deficit)) * weight, pad))
    basis, triangle = np.linalg.qr(nuisance)
    inside = basis.T @ columns
    columns = columns - basis @ inside
    wide, left = columns[:, :-1], columns[:, -1]
    seen: set[tuple[int, ...]] = set()
    for allowed, most in (
        (_SHARES > 0.0, MOST_STAIRS),
        (_SHARES > 0.2, MOST_STAIRS),
        (_SHARES < 0.2, MOST_STAIRS),
        (_SHARES > MANY_OF, MOST_MANY),
    ):
        if most == MOST_MANY and not stairs_are_plain(sweep):
            return
        chosen, gains = _one_after_another(wide * allowed, left, groups, most)
        if not chosen or tuple(chosen) in seen:
            continue
        seen.add(tuple(chosen))
        size = nnls(wide[:, chosen], left)[0]
        rest = inside[:, -1] - inside[:, chosen] @ size
        shift, series, bend = np.linalg.solve(triangle, rest)
        stairs = tuple(
            Stair(float(s), float(_FRACTIONS[k]), float(_SHARES[k]), g)
            for s, k, g in zip(size, chosen, gains, strict=True)
            if s > LEAST_KEPT / groups
        )
        if stairs:
            yield Deficit(stairs, -float(shift), float(series), -float(bend))


def _templates(reference: Reference, levels: Array, scale: float) -> tuple[Array, Array]:
    """A sound string's voltage, shape (n,), and what each candidate takes from it, (n, k)."""
    floor = -reference.bypass_drop
    drop = reference.series * levels
    normal = np.interp(scale - levels, reference.table, TABLE_VOLTAGES)
    table = reference.table + USUAL_STAIR_LEAK * TABLE_VOLTAGES
    limited = np.interp(scale * _CANDIDATES - levels[:, None], table, TABLE_VOLTAGES)
    sound = np.maximum(normal - drop, floor)
    taken = [
        sound[:, None] - np.maximum(q * limited + ((1.0 - q) * normal - drop)[:, None], floor)
        for q in LIMITED_CELLS
    ]
    return sound, np.concatenate(taken, axis=1)


def _weights(sweep: Sweep, measured: Array, levels: Array) -> Array:
    steep = np.gradient(measured, levels)
    return 1.0 / np.sqrt(
        (1.5 * sweep.noise_voltage) ** 2 + (1.5 * sweep.noise_current * steep) ** 2 + 1e-6
    )


def _one_after_another(
    wide: Array, left: Array, groups: int, most: int
) -> tuple[list[int], list[float]]:
    """The candidates that explain most, each beside those before it, and their gains."""
    chosen: list[int] = []
    gains: list[float] = []
    wide = wide.copy()
    for _ in range(most):
        length = np.maximum(np.einsum("ij,ij->j", wide, wide), 1e-9)
        along = left @ wide
        share = np.maximum(along / length, LEAST_SHARE / groups)
        share = np.where(_SHARES < ONE_CELL, np.minimum(share, MOST_SINGLE / groups), share)
        gain = share * (2.0 * along - share * length)
        gain[length < 1e-6] = 0.0
        best = int(np.argmax(gain))
        if gain[best] < LEAST_GAIN:
            break
        chosen.append(best)
        gains.append(float(gain[best]))
        near = np.abs(_FRACTIONS - _FRACTIONS[best]) < APART
        direction = wide[:, best] / np.sqrt(length[best])
        left = left - direction * (direction @ left)
        wide = wide - np.outer(direction, direction @ wide)
        wide[:, near] = 0.0
    return chosen, gains
