"""What the mouse does to marks, in numbers: new ones, which one is meant, and where it goes."""

from collections.abc import Callable

import numpy as np

from viewer.reports.annotation import KINDS, Annotation, PlacedAnnotation, anchor, measured_series
from viewer.reports.curve_figure import CurveFigure

Point = tuple[float, float]
ToPixels = Callable[[Point], Point]

REACH = 9.0
"""Pixels within which a mark or its end is meant."""
LEAST_DRAG = 4.0
"""A shorter drag is a click: the second point is then placed beside the first."""
BESIDE = (60.0, -40.0)
"""Pixels from the first point to the second where it was not dragged."""


def places(figure: CurveFigure, placed: PlacedAnnotation) -> tuple[Point, ...]:
    """Where a mark's points lie now; a callout's first one on its curve, a bracket level."""
    points = placed.mark.points
    if placed.mark.kind == "callout":
        return (anchor(figure, placed), points[1])
    if placed.mark.kind == "bracket":
        return (points[0], (points[1][0], points[0][1]))
    return points


def new_mark(
    kind: str, panel: str, form: str, begin: Point, end: Point, tied_to: tuple[Point, int] | None
) -> Annotation:
    """A mark from a drag; a callout begins at the data point it is tied to."""
    count = KINDS[kind][1]
    first = tied_to[0] if kind == "callout" and tied_to else begin
    points = (first, end)[:count]
    point = tied_to[1] if kind == "callout" and tied_to else None
    return Annotation(kind, panel, form, points, "", point)


def nearest_point(
    figure: CurveFigure, panel: str, trace_id: str, near: Point, to_pixels: ToPixels
) -> tuple[Point, int] | None:
    """The point of a trace's measured curve that looks nearest, and its number."""
    series = measured_series(figure, panel, trace_id)
    if series is None or not len(series.x):
        return None
    x0, y0 = to_pixels(near)
    pixels = np.array(
        [to_pixels((float(x), float(y))) for x, y in zip(series.x, series.y, strict=True)]
    )
    index = int(np.argmin((pixels[:, 0] - x0) ** 2 + (pixels[:, 1] - y0) ** 2))
    return (float(series.x[index]), float(series.y[index])), index


def hit(
    figure: CurveFigure, marks: tuple[PlacedAnnotation, ...], near: Point, to_pixels: ToPixels
) -> tuple[PlacedAnnotation, int | None] | None:
    """The mark under a place, the topmost first; which of its points, or None for its middle.

    `near` is in pixels.
    """
    for placed in reversed(marks):
        pixels = [to_pixels(one) for one in places(figure, placed)]
        for index, one in enumerate(pixels):
            if _distance(one, near) <= REACH:
                return placed, index
        if len(pixels) == 2 and _touches(placed.mark.kind, pixels, near):
            return placed, None
    return None


def moved(
    placed: PlacedAnnotation, shown: tuple[Point, ...], index: int | None, by: Point
) -> tuple[Point, ...]:
    """The points after a drag by so many volts and amperes: of one end, or of the whole."""
    kind = placed.mark.kind
    wanted = {index} if index is not None else set(range(len(shown)))
    if kind == "callout" and index is None:
        wanted = {1}
    if kind == "bracket" and index is not None:
        level = shown[0][1] + by[1]
        ends = [(x + (by[0] if k == index else 0.0), level) for k, (x, _) in enumerate(shown)]
        return tuple(ends)
    return tuple(
        (x + by[0], y + by[1]) if k in wanted else (x, y) for k, (x, y) in enumerate(shown)
    )


def _touches(kind: str, ends: list[Point], near: Point) -> bool:
    (x0, y0), (x1, y1) = ends
    if kind == "region":
        inside = min(x0, x1) <= near[0] <= max(x0, x1) and min(y0, y1) <= near[1] <= max(y0, y1)
        edge = min(abs(near[0] - x0), abs(near[0] - x1), abs(near[1] - y0), abs(near[1] - y1))
        return inside and edge <= REACH
    along = np.array([x1 - x0, y1 - y0])
    length = float(along @ along)
    share = (
        float(np.clip(np.dot([near[0] - x0, near[1] - y0], along) / length, 0, 1))
        if length
        else 0.0
    )
    return _distance((x0 + share * along[0], y0 + share * along[1]), near) <= REACH


def _distance(one: Point, other: Point) -> float:
    return float(np.hypot(one[0] - other[0], one[1] - other[1]))
