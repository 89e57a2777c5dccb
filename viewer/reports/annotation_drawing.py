"""Draws marks on the axes of a print figure."""

import textwrap
from typing import TYPE_CHECKING

from viewer.reports.annotation import PlacedAnnotation, anchor, span_text
from viewer.reports.curve_figure import CurveFigure
from viewer.reports.print_styles import INK, REGION

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SIZE = 8.0
LINE_LENGTH = 44
"""Characters of a line of text on a plot."""
_BOX = {"boxstyle": "round,pad=0.25", "facecolor": "white", "edgecolor": INK, "linewidth": 0.7}


def draw_annotation(ax: "Axes", figure: CurveFigure, placed: PlacedAnnotation) -> None:
    """One mark on the axes of its panel."""
    _DRAWERS[placed.mark.kind](ax, figure, placed)


def _text(ax: "Axes", _: CurveFigure, placed: PlacedAnnotation) -> None:
    (x, y), words = placed.mark.points[0], placed.mark.text
    ax.text(x, y, plain(words), fontsize=SIZE, color=INK, zorder=6, va="center")


def _arrow(ax: "Axes", _: CurveFigure, placed: PlacedAnnotation) -> None:
    tail, head = placed.mark.points
    _pointing(ax, placed.mark.text, head, tail, "-|>", boxed=False)


def _callout(ax: "Axes", figure: CurveFigure, placed: PlacedAnnotation) -> None:
    where = anchor(figure, placed)
    ax.plot(*where, marker="o", markersize=7, markerfacecolor="none", color=INK, zorder=6)
    _pointing(ax, placed.mark.text, where, placed.mark.points[1], "-", boxed=True)


def _pointing(
    ax: "Axes",
    words: str,
    head: tuple[float, float],
    tail: tuple[float, float],
    style: str,
    boxed: bool,
) -> None:
    ax.annotate(
        plain(words),
        xy=head,
        xytext=tail,
        fontsize=SIZE,
        color=INK,
        zorder=6,
        ha="center",
        va="center",
        bbox=_BOX if boxed else None,
        arrowprops={"arrowstyle": style, "color": INK, "linewidth": 1.0, "shrinkA": 3},
    )


def _bracket(ax: "Axes", _: CurveFigure, placed: PlacedAnnotation) -> None:
    (x0, y), (x1, _y) = placed.mark.points
    ax.annotate(
        "",
        xy=(x1, y),
        xytext=(x0, y),
        zorder=6,
        arrowprops={"arrowstyle": "|-|,widthA=0.35,widthB=0.35", "color": INK, "shrinkA": 0},
    )
    ax.annotate(
        plain(span_text(placed.mark)),
        xy=((x0 + x1) / 2, y),
        xytext=(0, 6),
        textcoords="offset points",
        ha="center",
        fontsize=SIZE,
        color=INK,
        zorder=6,
    )


def _region(ax: "Axes", _: CurveFigure, placed: PlacedAnnotation) -> None:
    from matplotlib.patches import Rectangle  # not above: it is slow to load

    (x0, y0), (x1, y1) = placed.mark.points
    corner = min(x0, x1), min(y0, y1)
    box = Rectangle(
        corner,
        abs(x1 - x0),
        abs(y1 - y0),
        facecolor=REGION,
        edgecolor=INK,
        linestyle="--",
        linewidth=0.7,
        zorder=0.6,
    )
    ax.add_patch(box)
    ax.annotate(
        plain(placed.mark.text),
        xy=(corner[0], max(y0, y1)),
        xytext=(3, -3),
        textcoords="offset points",
        va="top",
        fontsize=SIZE,
        color=INK,
        zorder=6,
    )


def plain(words: str) -> str:
    """A mark's text, wrapped."""
    return unformatted("\n".join(textwrap.wrap(words, LINE_LENGTH)))


def unformatted(words: str) -> str:
    """Text that matplotlib prints as it stands: it reads formulas between dollar signs."""
    return words.replace("$", r"\$")


_DRAWERS = {
    "text": _text,
    "arrow": _arrow,
    "callout": _callout,
    "bracket": _bracket,
    "region": _region,
}
