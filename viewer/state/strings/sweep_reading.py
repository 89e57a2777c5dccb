"""What the current sweep itself tells: its five parameters, slopes and quality, in lines."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import isfinite, isinf

from viewer.analysis.device.common_parameters import common_parameters
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.curve_fit.parameter_fit import ParameterFit, fit_parameters
from viewer.physics.measured_sweep.key_points import MeasuredKeyPoints
from viewer.physics.nomenclature import with_minus
from viewer.physics.sweep_cleaning import UnusableSweepError
from viewer.physics.uncertainty.uncertainty import COVERAGE, decimals_by
from viewer.reports.device_tables import PARAMETERS
from viewer.state.program.jobs import Job, Jobs, Progress, Step
from viewer.state.program.notifier import Notifier
from viewer.state.strings.power_of_ten import exponent_of, with_power
from viewer.state.strings.times_of_day import day_and_time, iso_time

KILO = 1000.0
"""Ohms from which resistances are told in kΩ."""
SCIENTIFIC_BELOW = 1e-4
"""Values below it, saturation currents, are written with their power of ten."""


@dataclass(frozen=True)
class Line:
    """A name, a value with its unit, and its expanded uncertainty (k = 2), or words."""

    name: str
    value: str
    spread: str = ""


Joint = tuple[int, ParameterFit]
"""How many sweeps were fitted together, and their fit."""


class SweepFits:
    """Five-parameter fits of traces, each made when first asked for."""

    def __init__(self, jobs: Jobs) -> None:
        self.arrived = Notifier()
        """A fit of repeats together is there."""
        self._jobs = jobs
        self._job: Job | None = None
        self._fits: dict[str, ParameterFit | str] = {}
        self._asked: tuple[TraceResult, ...] = ()
        self._joint: Joint | None = None

    def forget(self) -> None:
        self._fits.clear()
        self._ask_for(())

    def of(self, result: TraceResult) -> ParameterFit | str:
        """The fit, or one sentence that says why there is none."""
        key = result.trace.source
        if key not in self._fits:
            try:
                self._fits[key] = fit_parameters(result.trace.voltage, result.trace.current)
            except UnusableSweepError as problem:
                self._fits[key] = str(problem)
        return self._fits[key]

    def together(self, result: TraceResult, others: Iterable[TraceResult]) -> Joint | None:
        """One set of parameters for a trace with others of its string at the same conditions.

        None where there are no such others, or not yet: of five sweeps it takes half a second, so
        that it is found by a job, of the traces asked for last, and `arrived` tells.
        """
        repeats = repeats_of(result, others)
        if [id(one) for one in repeats] != [id(one) for one in self._asked]:
            self._ask_for(repeats)
            if len(repeats) > 1:
                self._job = Job(
                    "Fitting repeats together",
                    lambda: _fitted_together(repeats),
                    lambda found: self._take(repeats, found),
                )
                self._jobs.start(self._job)
        return self._joint

    def _ask_for(self, repeats: tuple[TraceResult, ...]) -> None:
        if self._job is not None:
            self._job.cancel()
        self._job, self._asked, self._joint = None, repeats, None

    def _take(self, repeats: tuple[TraceResult, ...], found: Sequence[Joint]) -> None:
        if repeats is self._asked:
            self._joint = found[-1]
            self.arrived.notify()


def repeats_of(result: TraceResult, others: Iterable[TraceResult]) -> tuple[TraceResult, ...]:
    """The trace and those of the others that are of its string and day."""
    same = [result]
    day, _ = day_and_time(iso_time(result))
    for one in others:
        if one is result or one.trace.place != result.trace.place or not one.trace.string:
            continue
        if day and day_and_time(iso_time(one))[0] == day:
            same.append(one)
    return tuple(same)


def _fitted_together(repeats: Sequence[TraceResult]) -> Iterator[Step]:
    try:
        fit = common_parameters(repeats).fit
    except ValueError:  # other conditions, or a sweep that is none
        return
    yield Step(Progress(1, 1, "fitted"), (len(repeats), fit))


def _line(name: str, value: float, spread: float, unit: str) -> Line:
    """The value to the last place of its expanded uncertainty, which has two digits."""
    if not isfinite(value):
        return Line(name, "no leakage shows" if isinf(value) else "not known")
    known = isfinite(spread) and spread > 0
    if unit == "Ω" and abs(value) >= KILO:
        value, spread, unit = value / KILO, spread / KILO, "kΩ"
    if abs(value) < SCIENTIFIC_BELOW:
        power = exponent_of(value)
        decimals = decimals_by(spread / 10.0**power) if known else 2
        told = (with_power(one, power, decimals) for one in (value, spread))
        line, extra = (f"{one} {unit}" for one in told)
        return Line(name, line, f"± {extra}" if known else "")
    if not known:
        return Line(name, f"{value:.4g} {unit}")
    decimals = decimals_by(spread)
    return Line(name, f"{value:.{decimals}f} {unit}", f"± {spread:.{decimals}f} {unit}")


def parameter_lines(fit: ParameterFit) -> list[Line]:
    """The five parameters of the whole string with expanded uncertainties."""
    if not fit.meaningful:
        return []
    return [
        _line(
            words,
            float(getattr(fit.parameters, name)),
            COVERAGE * float(getattr(fit.standard_uncertainty, name)),
            unit,
        )
        for name, words, unit in PARAMETERS
    ]


def slope_lines(sweep: MeasuredKeyPoints) -> list[Line]:
    """dV/dI at both ends as apparent resistances."""
    slopes = sweep.slopes
    pairs = (
        ("At Isc: apparent shunt", slopes.resistance_shunt, slopes.resistance_shunt_uncertainty),
        ("At Voc: apparent series", slopes.resistance_series, slopes.resistance_series_uncertainty),
    )
    return [
        _line(name, value, COVERAGE * spread, "Ω") if isfinite(value) else Line(name, "not known")
        for name, value, spread in pairs
    ]


def quality_lines(sweep: MeasuredKeyPoints) -> list[Line]:
    """Noise, coverage of the knee, hysteresis, drift."""
    quality = sweep.quality
    if quality is None:
        return []
    lines = [
        Line("Points", str(quality.points)),
        Line("Noise of a point", f"{quality.noise_current:.2g} A, {quality.noise_voltage:.2g} V"),
        Line("Missed by one diode", f"{100 * quality.misfit:.2g} % of Isc"),
        Line(
            "Points near the knee",
            f"{quality.points_near_knee}, widest gap {100 * quality.gap_near_knee:.2g} % of Voc",
        ),
    ]
    between, drift = "swept one way only", "not known"
    if quality.hysteresis is not None:
        between = with_minus(f"{100 * quality.hysteresis:+.2f} % of Pmp")
    if quality.drift is not None:
        drift = with_minus(f"{100 * quality.drift:+.2f} %, {quality.drift_from}")
    lines += [Line("Between directions", between), Line("Drift of the sun", drift)]
    if quality.outliers:
        lines.append(Line("Points left out", str(len(quality.outliers))))
    if len(sweep.power_maxima) > 1:
        said = "; ".join(f"{one.power:.0f} W at {one.voltage:.0f} V" for one in sweep.power_maxima)
        lines.append(Line("Maxima of power", said))
    return lines
