"""Key points of a measured curve: Isc, Voc, Imp, Vmp, Pmp and fill factor."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from viewer.physics.measured_sweep.sweep_estimates import SweepEstimate, estimate_sweeps
from viewer.physics.measured_sweep.sweep_limits import EndSlopes, Verdict, judge
from viewer.physics.measured_sweep.sweep_quality import (
    SweepQuality,
    direction_difference,
    sweep_quality,
)
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.physics.sweep_cleaning import CleanSweep, UnusableSweepError, clean_sweep

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


UNKNOWN = KeyPoints(NAN, NAN, NAN, NAN, NAN, NAN)


@dataclass(frozen=True)
class PowerMaximum:
    """A local maximum of power: voltage [V] and power [W]."""

    voltage: float
    power: float


@dataclass(frozen=True)
class MeasuredKeyPoints:
    """Key points of a measured sweep, how well they are known, and what could not be.

    values: NaN where the sweep does not tell, with a sentence in `remarks`.
    standard_uncertainty: 1.96 of them hold the true value in 95 % of sweeps; from the sweep's
    own noise, its points, drift and hysteresis, without the instrument's calibration.
    power_maxima: by rising voltage; the greatest one counts as Pmp.
    """

    values: KeyPoints
    standard_uncertainty: KeyPoints
    slopes: EndSlopes
    quality: SweepQuality | None
    power_maxima: tuple[PowerMaximum, ...] = ()
    remarks: tuple[str, ...] = ()


def find_key_points(
    voltage: ArrayLike, current: ArrayLike, irradiance_change: float | None = None
) -> MeasuredKeyPoints:
    """Key points of one sweep.

    voltage [V] and current [A] of the points in the order they were measured (any order will
    do; up and down again tells hysteresis). irradiance_change: irradiance at the end over
    that at the start, minus one, where both were read. Raises UnusableSweepError for points
    that are no sweep.
    """
    clean_sweep(voltage, current)
    return find_key_points_of_many([(voltage, current)], [irradiance_change])[0]


def find_key_points_of_many(
    sweeps: Iterable[tuple[ArrayLike, ArrayLike]],
    irradiance_changes: Sequence[float | None] | None = None,
) -> list[MeasuredKeyPoints]:
    """The same for many sweeps at once, which is much quicker than one after the other.

    A sweep that cannot be used gets no key points and a remark that says why.
    """
    raw = list(sweeps)
    changes = list(irradiance_changes) if irradiance_changes is not None else [None] * len(raw)
    out: list[MeasuredKeyPoints | None] = [None] * len(raw)
    usable: list[int] = []
    cleaned: list[CleanSweep] = []
    for k, (voltage, current) in enumerate(raw):
        try:
            cleaned.append(clean_sweep(voltage, current))
            usable.append(k)
        except UnusableSweepError as problem:
            out[k] = MeasuredKeyPoints(UNKNOWN, UNKNOWN, EndSlopes(), None, (), (str(problem),))
    found = key_points_of_clean(cleaned, [raw[k] for k in usable], [changes[k] for k in usable])
    for k, one in zip(usable, found, strict=True):
        out[k] = one
    return [one for one in out if one is not None]


def key_points_of_clean(
    cleaned: Sequence[CleanSweep],
    measured: Sequence[tuple[ArrayLike, ArrayLike]],
    irradiance_changes: Sequence[float | None],
) -> list[MeasuredKeyPoints]:
    """The same for sweeps that were cleaned before; `measured` in the order of measurement."""
    found = []
    estimates = estimate_sweeps([(v, i) for v, i, _ in cleaned])
    with np.errstate(all="ignore"):  # points that are no sweep give NaN, which `judge` tells of
        for (v, i, remarks), raw, change, estimate in zip(
            cleaned, measured, irradiance_changes, estimates, strict=True
        ):
            quality = sweep_quality(v, i, estimate, change, direction_difference(*raw))
            found.append(_measured(judge(v, i, estimate, quality), estimate, quality, remarks))
    return found


def _measured(
    verdict: Verdict, estimate: SweepEstimate, quality: SweepQuality, remarks: tuple[str, ...]
) -> MeasuredKeyPoints:
    maxima = tuple(PowerMaximum(v, p) for v, p in estimate.maxima)
    return MeasuredKeyPoints(
        KeyPoints(*verdict.values.tolist()),
        KeyPoints(*verdict.uncertainty.tolist()),
        verdict.slopes,
        quality,
        maxima,
        remarks + verdict.remarks,
    )
