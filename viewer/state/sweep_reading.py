"""What the current sweep itself tells: its five parameters, slopes and quality, in lines."""

from dataclasses import dataclass
from math import isfinite, isinf

from viewer.analysis.trace_result import TraceResult
from viewer.physics.curve_fit.parameter_fit import ParameterFit, fit_parameters
from viewer.physics.key_points import MeasuredKeyPoints
from viewer.physics.sweep_cleaning import UnusableSweepError
from viewer.physics.uncertainty import COVERAGE

PARAMETERS: tuple[tuple[str, str, str], ...] = (
    ("photocurrent", "Photocurrent", "A"),
    ("saturation_current", "Saturation current", "A"),
    ("resistance_series", "Series resistance", "Ω"),
    ("resistance_shunt", "Shunt resistance", "Ω"),
    ("nNsVth", "nNsVth", "V"),
)


@dataclass(frozen=True)
class Line:
    """A name, a value with its unit, and its expanded uncertainty (k = 2), or words."""

    name: str
    value: str
    spread: str = ""


class SweepFits:
    """Five-parameter fits of traces, each made when first asked for."""

    def __init__(self) -> None:
        self._fits: dict[str, ParameterFit | str] = {}

    def forget(self) -> None:
        self._fits.clear()

    def of(self, result: TraceResult) -> ParameterFit | str:
        """The fit, or one sentence that says why there is none."""
        key = result.trace.source
        if key not in self._fits:
            try:
                self._fits[key] = fit_parameters(result.trace.voltage, result.trace.current)
            except UnusableSweepError as problem:
                self._fits[key] = str(problem)
        return self._fits[key]


def _digits(value: float, spread: float) -> str:
    """The value to as many digits as its uncertainty lets stand."""
    if not isfinite(value):
        return "no leakage shows" if isinf(value) else "not known"
    if not (isfinite(spread) and spread > 0):
        return f"{value:.4g}"
    relative = abs(value) / spread
    count = 2
    while relative >= 10 and count < 8:
        relative /= 10
        count += 1
    return f"{value:.{count}g}"


def parameter_lines(fit: ParameterFit) -> list[Line]:
    """The five parameters of the whole string with expanded uncertainties."""
    if not fit.meaningful:
        return []
    lines = []
    for name, words, unit in PARAMETERS:
        value = float(getattr(fit.parameters, name))
        spread = COVERAGE * float(getattr(fit.standard_uncertainty, name))
        known = isfinite(value)
        text = _digits(value, spread)
        lines.append(
            Line(
                words,
                f"{text} {unit}" if known else text,
                f"± {spread:.2g} {unit}" if known and isfinite(spread) else "",
            )
        )
    return lines


def slope_lines(sweep: MeasuredKeyPoints) -> list[Line]:
    """dV/dI at both ends as apparent resistances."""
    slopes = sweep.slopes
    pairs = (
        ("At Isc: apparent shunt", slopes.resistance_shunt, slopes.resistance_shunt_uncertainty),
        ("At Voc: apparent series", slopes.resistance_series, slopes.resistance_series_uncertainty),
    )
    return [
        Line(
            name,
            f"{_digits(value, COVERAGE * spread)} Ω" if isfinite(value) else "not known",
            f"± {COVERAGE * spread:.2g} Ω" if isfinite(value) and isfinite(spread) else "",
        )
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
    if quality.hysteresis is not None:
        lines.append(Line("Between directions", f"{100 * quality.hysteresis:+.2g} % of Pmp"))
    else:
        lines.append(Line("Between directions", "swept one way only"))
    if quality.drift is not None:
        lines.append(
            Line("Drift of the sun", f"{100 * quality.drift:+.2g} %, {quality.drift_from}")
        )
    else:
        lines.append(Line("Drift of the sun", "not known"))
    if quality.outliers:
        lines.append(Line("Points left out", str(len(quality.outliers))))
    if len(sweep.power_maxima) > 1:
        said = "; ".join(f"{one.power:.0f} W at {one.voltage:.0f} V" for one in sweep.power_maxima)
        lines.append(Line("Maxima of power", said))
    return lines
