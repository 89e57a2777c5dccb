"""A measured sweep brought into order: finite points, rising voltage, each voltage once."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.nomenclature import counted

Array = NDArray[np.float64]
CleanSweep = tuple[Array, Array, tuple[str, ...]]
"""Voltage [V], rising, current [A], and what was mended."""

FEWEST_POINTS = 3
"""Below this no curve can be drawn through the points."""


class UnusableSweepError(ValueError):
    """The points are no I-V sweep; the message says why in one sentence."""


def clean_sweep(voltage: ArrayLike, current: ArrayLike) -> CleanSweep:
    """Points in order of rising voltage, with what was mended in words.

    voltage [V] and current [A]: one-dimensional, equally long, in any order. Points that are
    not finite are left out, repeated points count once, currents measured at one voltage are
    averaged, and a sweep in the load convention (current negative where voltage is positive)
    is turned over. Raises UnusableSweepError when fewer than three different voltages
    remain.
    """
    v = np.asarray(voltage, dtype=float).ravel()
    i = np.asarray(current, dtype=float).ravel()
    if v.size != i.size:
        raise UnusableSweepError(f"There are {v.size} voltages but {i.size} currents.")
    v, i, remarks = _only_finite(v, i)
    if v.size < FEWEST_POINTS or not (v[1:] > v[:-1]).all():
        v, i = _each_point_once(v, i)
    if _is_load_convention(v, i):
        i = -i
        remarks.append("The currents are negative throughout; their sign was turned.")
    v, i = _one_current_a_voltage(v, i)
    _require_a_sweep(v)
    return v, i, tuple(remarks)


def _only_finite(v: Array, i: Array) -> tuple[Array, Array, list[str]]:
    good = np.isfinite(v + i)
    if good.all():
        return v, i, []
    lost = int(good.size - np.count_nonzero(good))
    return (
        v[good],
        i[good],
        [f"{counted(lost, 'point is', 'points are')} not a number and left out."],
    )


def _require_a_sweep(v: Array) -> None:
    if v.size < FEWEST_POINTS:
        voltages = "no usable point" if v.size == 0 else f"points at {v.size} voltages only"
        raise UnusableSweepError(
            f"The sweep has {voltages}; at least {FEWEST_POINTS} different voltages are needed."
        )


def _each_point_once(v: Array, i: Array) -> tuple[Array, Array]:
    order = np.lexsort((i, v))
    v, i = v[order], i[order]
    new = np.ones(v.size, dtype=bool)
    new[1:] = (v[1:] != v[:-1]) | (i[1:] != i[:-1])
    return v[new], i[new]


def _is_load_convention(v: Array, i: Array) -> bool:
    """Whether power is consumed over most of the sweep."""
    return bool(np.dot(v, i) < 0 and np.median(i) < 0)


def _one_current_a_voltage(v: Array, i: Array) -> tuple[Array, Array]:
    new = v[1:] != v[:-1]
    if new.all():
        return v, i
    first = np.flatnonzero(np.concatenate(([True], new)))
    count = np.diff(np.r_[first, v.size])
    return v[first], np.add.reduceat(i, first) / count
