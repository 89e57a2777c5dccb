"""A figure of overlaid curves as data: what is drawn, not how.

The plot on the screen and the one in a file are two renderers of this record, so that they
cannot differ in what they show.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.prediction.prediction import predicted_at_stc
from viewer.analysis.results.trace_result import Curve, TraceResult
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.nomenclature import quantity

Array = NDArray[np.float64]

FORMS: dict[str, str] = {
    "measured": "As measured",
    "stc": "Translated to STC",
    "relative": "Relative to predicted",
}
"""How curves can be drawn, and the words for it."""

PANELS: dict[str, str] = {"iv": "Current", "pv": "Power", "difference": "Current difference"}
LETTERS: dict[str, str] = {"iv": "I", "pv": "P", "difference": "ΔI"}
"""What a panel draws, in a letter or two."""


@dataclass(frozen=True, eq=False)
class Series:
    """One line. `role` is measured, predicted or other; `style` an index into STYLES.

    `other` curves are the many beyond the first few and have no style (None).
    """

    trace_id: str
    label: str
    role: str
    style: int | None
    x: Array
    y: Array
    emphasised: bool = False


@dataclass(frozen=True, eq=False)
class KeyPointMarks:
    """Short circuit, maximum power and open circuit of one curve, filled when measured."""

    style: int
    measured: bool
    x: Array
    y: Array


@dataclass(frozen=True, eq=False)
class Panel:
    """One pair of axes; `id` is a key of PANELS. `y_shorter` stands where `y_label` has no room."""

    id: str
    x_label: str
    y_label: str
    y_shorter: tuple[str, ...]
    x_unit: str
    y_unit: str
    series: tuple[Series, ...]
    marks: tuple[KeyPointMarks, ...]


@dataclass(frozen=True, eq=False)
class CurveFigure:
    """Panels stacked over one x axis; `left_out` says which curves could not be drawn and why."""

    title: str
    panels: tuple[Panel, ...]
    left_out: tuple[str, ...] = ()
    predicted: str = "predicted"
    """What the predicted curves are, in the words of a legend."""

    def labels(self) -> dict[int, str]:
        """Style -> label of the measured curve drawn in it."""
        return {
            one.style: one.label
            for panel in self.panels[:1]
            for one in panel.series
            if one.role == "measured" and one.style is not None
        }


@dataclass(frozen=True, eq=False)
class _Drawn:
    """One trace in the chosen form: curves and key points, or None where unknown."""

    measured: Curve
    points: KeyPoints
    predicted: Curve | None = None
    predicted_points: KeyPoints | None = None


def place_name(place: tuple[str, str]) -> str:
    """Combiner and string; the string alone where it bears its combiner's name."""
    combiner, string = place
    return string if combiner and combiner in string else f"{combiner} {string}".strip()


def trace_label(result: TraceResult, with_day: bool = False, with_time: bool = False) -> str:
    """Combiner and string, or the file where they are not known; the day when asked for.

    `with_time` with the time of day, which tells apart what was traced twice on one day.
    """
    trace = result.trace
    name = place_name((trace.combiner or "", trace.string or "")) or trace.source
    if (with_day or with_time) and trace.measured_at is not None:
        name += f", {trace.measured_at:{'%Y-%m-%d %H:%M' if with_time else '%Y-%m-%d'}}"
    return name


def curve_figure(
    results: Sequence[TraceResult],
    styles: Mapping[str, int],
    form: str = "measured",
    panels: Sequence[str] = ("iv", "pv"),
    current: str | None = None,
    with_day: bool = False,
) -> CurveFigure:
    """The figure of some traces in one of FORMS.

    `styles` gives a trace id its index into STYLES; traces without one are drawn as `other`.
    `current` is the id of the trace to emphasise. Labels tell the day where curves are of several
    days, and where asked for by `with_day`; the time, too, of a string traced twice on one day.
    """
    drawn: list[tuple[TraceResult, _Drawn]] = []
    left_out: list[str] = []
    with_day = with_day or len({_day(one) for one in results}) > 1
    labels = _labels_of(results, with_day)
    for result in results:
        shape = _in_form(result, form)
        if shape is None:
            left_out.append(f"{labels[result.trace.source]}: {_why_left_out(result, form)}")
        else:
            drawn.append((result, shape))
    relative = form == "relative"
    return CurveFigure(
        FORMS[form],
        tuple(_panel(name, drawn, styles, relative, current, labels) for name in panels),
        tuple(left_out),
        "predicted at STC from the datasheet" if form == "stc" else "predicted",
    )


def _labels_of(results: Sequence[TraceResult], with_day: bool) -> dict[str, str]:
    labels = {one.trace.source: trace_label(one, with_day) for one in results}
    count = Counter(labels.values())
    return {
        one.trace.source: trace_label(one, with_time=True)
        if count[labels[one.trace.source]] > 1
        else labels[one.trace.source]
        for one in results
    }


def _day(result: TraceResult) -> object:
    return result.trace.measured_at.date() if result.trace.measured_at else None


def _in_form(result: TraceResult, form: str) -> _Drawn | None:
    if form == "measured":
        return _Drawn(
            result.measured_curve, result.measured, result.predicted_curve, result.predicted
        )
    if form == "stc":
        if result.translated_curve is None or result.translated is None:
            return None
        return _Drawn(
            result.translated_curve, result.translated, *(predicted_at_stc(result) or (None, None))
        )
    scale = result.predicted
    if scale is None or result.predicted_curve is None:
        return None
    if not (scale.v_oc > 0 and scale.i_sc > 0):
        return None
    return _Drawn(
        _scaled(result.measured_curve, scale),
        _scaled_points(result.measured, scale),
        _scaled(result.predicted_curve, scale),
        _scaled_points(scale, scale),
    )


def _why_left_out(result: TraceResult, form: str) -> str:
    if result.missing:
        return result.missing[0]
    return "it has no translation to STC." if form == "stc" else "it has no prediction."


def _scaled(curve: Curve, scale: KeyPoints) -> Curve:
    return Curve(curve.voltage / scale.v_oc, curve.current / scale.i_sc)


def _scaled_points(points: KeyPoints, scale: KeyPoints) -> KeyPoints:
    v, i = scale.v_oc, scale.i_sc
    return KeyPoints(
        points.i_sc / i,
        points.v_oc / v,
        points.i_mp / i,
        points.v_mp / v,
        points.p_mp / (v * i),
        points.fill_factor,
    )


def _panel(
    name: str,
    drawn: Sequence[tuple[TraceResult, _Drawn]],
    styles: Mapping[str, int],
    relative: bool,
    current: str | None,
    labels: Mapping[str, str],
) -> Panel:
    series: list[Series] = []
    marks: list[KeyPointMarks] = []
    for result, shape in drawn:
        source = result.trace.source
        style = styles.get(source)
        label = labels[source]
        emphasised = source == current
        if style is not None and shape.predicted is not None and name != "difference":
            x, y = _axes(name, shape.predicted, None)
            series.append(Series(source, label, "predicted", style, x, y, emphasised))
        x, y = _axes(name, shape.measured, shape.predicted)
        role = "other" if style is None else "measured"
        if len(x):
            series.append(Series(source, label, role, style, x, y, emphasised))
        if style is not None and name != "difference":
            if shape.predicted_points is not None:
                marks.append(_marks(name, shape.predicted_points, style, False))
            marks.append(_marks(name, shape.points, style, True))
    return Panel(name, *_labels(name, relative), tuple(series), tuple(marks))


def _axes(name: str, curve: Curve, predicted: Curve | None) -> tuple[Array, Array]:
    v, i = curve.voltage, curve.current
    if name == "pv":
        return v, v * i
    if name == "difference":
        if predicted is None:
            return np.empty(0), np.empty(0)
        within = v <= predicted.voltage[-1]
        return v[within], i[within] - np.interp(v[within], predicted.voltage, predicted.current)
    return v, i


def _marks(name: str, points: KeyPoints, style: int, measured: bool) -> KeyPointMarks:
    x = np.array([0.0, points.v_mp, points.v_oc])
    y = np.array([points.i_sc, points.i_mp, 0.0])
    if name == "pv":
        return KeyPointMarks(style, measured, x[1:], (x * y)[1:])
    return KeyPointMarks(style, measured, x, y)


def _labels(name: str, relative: bool) -> tuple[str, str, tuple[str, ...], str, str]:
    """Label of x, label of y and shorter words for it, and their units."""
    voltage, current, power = quantity("voltage"), quantity("current"), quantity("power")
    letter = LETTERS[name]
    if relative:
        scale = "Voc·Isc" if name == "pv" else "Isc"
        shorter = (f"{letter} / {scale}", letter)
        return "Voltage / predicted Voc", f"{letter} / predicted {scale}", shorter, "", ""
    of_y = {"iv": current, "pv": power, "difference": current}[name]
    label = "ΔI, meas. − pred." if name == "difference" else of_y.label
    return voltage.label, label, (letter,), voltage.unit, of_y.unit


def with_unit(label: str, unit: str) -> str:
    """An axis label with its unit in brackets."""
    return f"{label} ({unit})" if unit else label
