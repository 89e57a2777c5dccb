"""Marks that people draw on a plot for a claim, as data in the plot's own coordinates.

They hold volts, amperes and watts rather than pixels, so they stay where they belong when
the plot is zoomed, redrawn or printed.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from viewer.reports.curve_figure import FORMS, PANELS, CurveFigure, Series

KINDS: dict[str, tuple[str, int]] = {
    "text": ("Text", 1),
    "arrow": ("Arrow", 2),
    "bracket": ("Voltage span", 2),
    "region": ("Region", 2),
    "callout": ("Callout", 2),
}
"""Kind to its name and how many points it takes.

text: where it begins. arrow: tail with the text, then head. bracket: both ends; it is level
at the first one's height. region: opposite corners. callout: the data point, then the text.
"""
TEXT_LIMIT = 500


class AnnotationError(ValueError):
    """A mark that cannot be drawn; the message is one sentence."""


@dataclass(frozen=True)
class Annotation:
    """One mark on one panel of the plot of one trace in one form.

    points: (x, y) in the panel's units. point: for a callout, which point of the measured
    curve it is tied to; None when it only has a place.
    """

    kind: str
    panel: str
    form: str
    points: tuple[tuple[float, float], ...]
    text: str = ""
    point: int | None = None

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise AnnotationError(f"there is no mark {self.kind!r}; there are {', '.join(KINDS)}.")
        if self.panel not in PANELS or self.form not in FORMS:
            raise AnnotationError(f"there is no plot {self.panel!r} in the form {self.form!r}.")
        name, count = KINDS[self.kind]
        if len(self.points) != count:
            raise AnnotationError(f"{name} takes {count} points, not {len(self.points)}.")
        if not all(math.isfinite(value) for pair in self.points for value in pair):
            raise AnnotationError(f"{name} has a place that is not a number.")
        if len(self.text) > TEXT_LIMIT:
            raise AnnotationError(f"a text on a plot has at most {TEXT_LIMIT} characters.")


@dataclass(frozen=True)
class PlacedAnnotation:
    """A mark with the number it is known by and the trace it belongs to."""

    number: int
    trace_id: str
    mark: Annotation


def as_table(mark: Annotation) -> dict[str, Any]:
    """The mark as plain values, as files keep it."""
    table: dict[str, Any] = {
        "kind": mark.kind,
        "panel": mark.panel,
        "form": mark.form,
        "points": [list(pair) for pair in mark.points],
        "text": mark.text,
    }
    return table if mark.point is None else {**table, "point": mark.point}


def from_table(table: Mapping[str, Any]) -> Annotation:
    """The mark that `as_table` wrote. Raises AnnotationError."""
    try:
        points = tuple((float(x), float(y)) for x, y in table["points"])
        point = table.get("point")
        return Annotation(
            str(table["kind"]),
            str(table["panel"]),
            str(table["form"]),
            points,
            str(table.get("text", "")),
            None if point is None else int(point),
        )
    except (KeyError, TypeError, ValueError) as error:
        if isinstance(error, AnnotationError):
            raise
        raise AnnotationError(f"a mark is not complete: {error}.") from None


def shown_on(
    figure: CurveFigure, form: str, marks: Sequence[PlacedAnnotation]
) -> tuple[PlacedAnnotation, ...]:
    """The marks that a figure shows: of its traces, its form and its panels."""
    traces = {one.trace_id for panel in figure.panels for one in panel.series}
    panels = {panel.id for panel in figure.panels}
    return tuple(
        one
        for one in marks
        if one.trace_id in traces and one.mark.form == form and one.mark.panel in panels
    )


def anchor(figure: CurveFigure, placed: PlacedAnnotation) -> tuple[float, float]:
    """Where a callout points: its data point on the curve as drawn, else its first place."""
    mark = placed.mark
    series = measured_series(figure, mark.panel, placed.trace_id)
    if mark.point is None or series is None or not 0 <= mark.point < len(series.x):
        return mark.points[0]
    return float(series.x[mark.point]), float(series.y[mark.point])


def measured_series(figure: CurveFigure, panel_id: str, trace_id: str) -> Series | None:
    """The measured curve of a trace in a panel."""
    for panel in figure.panels:
        for one in panel.series if panel.id == panel_id else ():
            if one.trace_id == trace_id and one.role != "predicted":
                return one
    return None


def span_text(mark: Annotation) -> str:
    """What a bracket says: its own text, or the width of the span in volts."""
    if mark.text:
        return mark.text
    width = abs(mark.points[1][0] - mark.points[0][0])
    return f"{width:.2f}" if mark.form == "relative" else f"{width:.1f} V"
