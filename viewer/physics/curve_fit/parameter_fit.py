"""The five single-diode parameters of measured sweeps, with uncertainty, or why there are none."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.curve_fit.fit_verdict import Verdict, judge
from viewer.physics.curve_fit.joint_fit import ENOUGH_SWEEPS, refine_jointly, with_joint
from viewer.physics.curve_fit.least_squares import fit
from viewer.physics.curve_fit.noise import UNKNOWNS, estimate
from viewer.physics.curve_fit.parameter_spread import (
    clustered,
    independent,
    parameter_covariance,
    student_factor,
)
from viewer.physics.curve_fit.scaled_diode import G, current_at, to_parameters
from viewer.physics.curve_fit.sweep_batch import (
    Sweep,
    SweepBatch,
    blocks_of_similar_length,
    rows_of,
    with_rows,
)
from viewer.physics.curve_fit.whole_sweep import FittedSweeps, fit_sweeps
from viewer.physics.nomenclature import counted
from viewer.physics.single_diode import DiodeParameters
from viewer.physics.sweep_cleaning import UnusableSweepError, clean_sweep

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ParameterFit:
    """Five parameters of one sweep (or of several of one device), and the curve they give.

    parameters, standard_uncertainty: scalars, NaN where the sweep does not tell; the shunt
    resistance is infinite where no leakage shows. covariance: (5, 5) in the order of
    DiodeParameters. meaningful: False where one diode is not what the curve shows; all
    parameters are NaN then and `remarks` says why. voltage, current: the clean points [V, A];
    fitted_current: on the fitted curve at these voltages, kept even for a curve that is not
    meaningful; left_out: points taken for outliers. misfit: root mean square of the
    deviations [A].
    """

    parameters: DiodeParameters
    standard_uncertainty: DiodeParameters
    covariance: Array
    meaningful: bool
    voltage: Array
    current: Array
    fitted_current: Array
    left_out: NDArray[np.bool_]
    misfit: float
    remarks: tuple[str, ...] = ()

    @property
    def residual(self) -> Array:
        """Measured minus fitted current [A] at each clean point."""
        return self.current - self.fitted_current


def fit_parameters(voltage: ArrayLike, current: ArrayLike) -> ParameterFit:
    """Fit one sweep, points [V, A] in any order, without a starting guess.

    Least distance of the points to the curve in both directions, each weighted by the noise
    the sweep itself shows. Raises UnusableSweepError for points that are no sweep.
    """
    clean_sweep(voltage, current)
    return fit_parameters_of_many([(voltage, current)])[0]


def fit_parameters_of_many(
    sweeps: Iterable[tuple[ArrayLike, ArrayLike]],
) -> list[ParameterFit]:
    """The same for many sweeps at once, which is much quicker than one after the other.

    A sweep that cannot be used gets NaN throughout and a remark that says why.
    """
    raw = list(sweeps)
    out: list[ParameterFit | None] = [None] * len(raw)
    numbers: list[int] = []
    clean: list[Sweep] = []
    for k, (voltage, current) in enumerate(raw):
        try:
            v, i, _ = clean_sweep(voltage, current)
        except UnusableSweepError as problem:
            out[k] = _nothing(str(problem))
            continue
        if v.size <= UNKNOWNS:
            out[k] = _nothing(
                f"The sweep has {counted(v.size, 'point')}; five parameters need at least "
                f"{UNKNOWNS + 1}."
            )
            continue
        numbers.append(k)
        clean.append((v, i))
    for block in blocks_of_similar_length(clean):
        for position, one in zip(block, _fit_block([clean[n] for n in block]), strict=True):
            out[numbers[position]] = one
    return [one for one in out if one is not None]


def fit_parameters_jointly(sweeps: Iterable[tuple[ArrayLike, ArrayLike]]) -> ParameterFit:
    """One set of parameters for several sweeps of one device at the same conditions.

    All points count in one fit. From five sweeps on, noise that lasts through a sweep is told
    apart from noise of single points, and each is weighed for what it is; the uncertainty then
    comes from how the sweeps differ.
    Raises UnusableSweepError when one of them is no sweep.
    """
    clean = [clean_sweep(voltage, current)[:2] for voltage, current in sweeps]
    voltage = np.concatenate([v for v, _ in clean])
    current = np.concatenate([i for _, i in clean])
    member = np.repeat(np.arange(len(clean)), [v.size for v, _ in clean])
    order = np.lexsort((member, voltage))
    return _fit_joint((voltage[order], current[order]), member[order])


def _fit_block(sweeps: list[Sweep]) -> list[ParameterFit]:
    free = fit_sweeps(SweepBatch.of(sweeps))
    result = _without_negative_leakage(free)
    return _reports(sweeps, result, free, independent(result))


def _fit_joint(sweep: Sweep, member: NDArray[np.int64]) -> ParameterFit:
    free = fit_sweeps(SweepBatch.of([sweep]), repeated=True)
    result = _without_negative_leakage(free, repeated=True)
    spread = clustered(result, member)
    if member.max() + 1 >= ENOUGH_SWEEPS:
        joint = refine_jointly(result, member, result.fitted.unknowns[0] != 0.0)
        result, spread = with_joint(result, joint), joint.covariance[None]
    return _reports([sweep], result, free, spread)[0]


def _reports(
    sweeps: list[Sweep], result: FittedSweeps, free: FittedSweeps, spread: Array
) -> list[ParameterFit]:
    """A report on each sweep from the fit, the fit with any sign of leakage, and the covariance
    of the unknowns."""
    covariance = parameter_covariance(result, spread)
    wider = student_factor(result.batch.count)
    parameters = to_parameters(result.fitted.unknowns, result.batch)
    fitted_current = _current_at_points(result)
    return [
        _parameter_fit(
            parameters[k],
            covariance[k] * wider[k] ** 2,
            judge(result, free, spread, k),
            (v, i),
            fitted_current[k, : v.size],
            result.left_out[k, : v.size],
            float(result.noise.misfit[k] * result.batch.i_unit[k, 0]),
        )
        for k, (v, i) in enumerate(sweeps)
    ]


def _without_negative_leakage(result: FittedSweeps, repeated: bool = False) -> FittedSweeps:
    """A curve that would need a negative shunt conductance is fitted anew with none."""
    rows = np.flatnonzero(result.fitted.unknowns[:, G] < 0)
    if rows.size == 0:
        return result
    batch = rows_of(result.batch, rows)
    start = result.fitted.unknowns[rows].copy()
    start[:, G] = 0.0
    free = np.ones(start.shape, dtype=bool)
    free[:, G] = False
    again = fit(batch, start, result.fitted.voltage_share[rows], free)
    noise = estimate(batch, again, repeated)
    return replace(
        result,
        fitted=with_rows(result.fitted, rows, again),
        noise=with_rows(result.noise, rows, noise),
    )


def _current_at_points(result: FittedSweeps) -> Array:
    """The fitted current at the measured voltages [A], (sweeps, points)."""
    batch, fitted = result.batch, result.fitted
    return current_at(fitted.unknowns, batch.voltage, fitted.state.x) * batch.i_unit


def _parameter_fit(
    parameters: DiodeParameters,
    covariance: Array,
    verdict: Verdict,
    sweep: Sweep,
    fitted_current: Array,
    left_out: NDArray[np.bool_],
    misfit: float,
) -> ParameterFit:
    if not verdict.meaningful:
        parameters, covariance = _UNKNOWN, np.full((5, 5), np.nan)
    uncertainty = np.sqrt(np.diagonal(covariance))
    return ParameterFit(
        parameters,
        DiodeParameters.of(*uncertainty),
        covariance,
        verdict.meaningful,
        *sweep,
        fitted_current,
        left_out,
        misfit,
        verdict.remarks,
    )


_UNKNOWN = DiodeParameters.of(*[np.nan] * 5)


def _nothing(why: str) -> ParameterFit:
    none = np.empty(0)
    return ParameterFit(
        _UNKNOWN,
        _UNKNOWN,
        np.full((5, 5), np.nan),
        False,
        none,
        none,
        none,
        np.zeros(0, dtype=bool),
        np.nan,
        (why,),
    )
