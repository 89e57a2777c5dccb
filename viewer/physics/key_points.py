"""Key points of a measured curve: Isc, Voc, Imp, Vmp, Pmp and fill factor."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.physics.sweep_cleaning import clean_sweep

Array = NDArray[np.float64]
NAN = float("nan")


@dataclass(frozen=True)
class KeyPoints:
    """The six key points of one curve; NaN where one could not be determined."""

    i_sc: float
    v_oc: float
    i_mp: float
    v_mp: float
    p_mp: float
    fill_factor: float

    def as_dict(self) -> dict[str, float]:
        return {name: getattr(self, name) for name in KEY_POINT_NAMES}


@dataclass(frozen=True)
class MeasuredKeyPoints:
    """Key points of a measured sweep, how well they are known, and what could not be."""

    values: KeyPoints
    standard_uncertainty: KeyPoints
    remarks: tuple[str, ...] = ()


def find_key_points(voltage: ArrayLike, current: ArrayLike) -> MeasuredKeyPoints:
    """Key points of one sweep; points in any order. Raises UnusableSweepError when it is none."""
    v, i, remarks = clean_sweep(voltage, current)
    at_zero = v <= max(v[0] + 0.2 * np.ptp(v), v[2])
    i_sc = float(np.polyval(np.polyfit(v[at_zero], i[at_zero], 1), 0.0))
    tail = i < max(0.25 * i_sc, np.sort(i)[1])
    v_oc = float(np.polyval(np.polyfit(i[tail], v[tail], 1 if tail.sum() < 4 else 2), 0.0))
    v_mp, i_mp = _maximum_power(v, i)
    p_mp = v_mp * i_mp
    values = KeyPoints(i_sc, v_oc, i_mp, v_mp, p_mp, p_mp / (i_sc * v_oc))
    return MeasuredKeyPoints(values, KeyPoints(NAN, NAN, NAN, NAN, NAN, NAN), remarks)


def find_key_points_of_many(
    sweeps: Iterable[tuple[ArrayLike, ArrayLike]],
) -> list[MeasuredKeyPoints]:
    """The same for many sweeps."""
    return [find_key_points(v, i) for v, i in sweeps]


def _maximum_power(v: Array, i: Array) -> tuple[float, float]:
    top = int(np.argmax(v * i))
    near = np.abs(v - v[top]) <= 0.12 * v[top]
    if np.count_nonzero(near) < 5:
        return float(v[top]), float(i[top])
    fit = np.polynomial.Polynomial.fit(v[near], v[near] * i[near], 4)
    fine = np.linspace(v[near][0], v[near][-1], 2001)
    v_mp = float(fine[np.argmax(fit(fine))])
    return v_mp, float(fit(v_mp)) / v_mp
