"""Draws a curve figure for paper, and writes it as PNG, SVG or PDF by the file's suffix.

Margins are fixed rather than found by trial: a report of many strings draws one such figure
a string. matplotlib is imported by what draws: it is slow to load, and the window starts
without it.
"""

import io
import textwrap
from collections.abc import Sequence
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from viewer.reports.annotation import PlacedAnnotation
from viewer.reports.annotation_drawing import draw_annotation, unformatted
from viewer.reports.curve_figure import CurveFigure, KeyPointMarks, Panel, Series, with_unit
from viewer.reports.print_styles import BAND_WIDTH, GRID, INK, OTHERS, print_style
from viewer.site_data.whole_file import write_whole

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D
    from matplotlib.ticker import ScalarFormatter

SUFFIXES: tuple[str, ...] = (".png", ".svg", ".pdf")
_DRAWING = Lock()
"""matplotlib's settings belong to the whole process: two jobs may not change them at once."""
MARKERS_ALONG_CURVE = 12
LEFT, RIGHT, TOP, BOTTOM = 0.72, 0.15, 0.28, 0.46
"""Margins [inches]; the legend and the caption come below."""
LABEL_AT = 0.5
"""Of the y axis, left of it [inches]."""
ROUND = (1, 2, 2.5, 5, 10)
"""Steps between ticks, times a power of ten."""
LINE = 0.17
"""Height of a line of legend or caption [inches]."""
LEGEND_COLUMNS = 4
LONGEST_LABEL = 48
"""Characters of a label in the legend."""
SAMPLE, LETTER = 0.55, 0.065
"""Widths in the legend: of a line's sample and of a usual letter [inches]."""


def save_curve_figure(
    figure: CurveFigure,
    path: Path,
    size: tuple[float, float] = (9.0, 7.5),
    dpi: int = 150,
    marks: Sequence[PlacedAnnotation] = (),
    caption: str = "",
) -> None:
    """Write the figure. `size` in inches. Raises ValueError for a suffix not in SUFFIXES."""
    if path.suffix.lower() not in SUFFIXES:
        raise ValueError(f"{path.name}: a plot is saved as {', '.join(SUFFIXES)} only.")
    write_whole(path, figure_bytes(figure, path.suffix.lower()[1:], size, dpi, marks, caption))


def figure_bytes(
    figure: CurveFigure,
    kind: str,
    size: tuple[float, float] = (9.0, 7.5),
    dpi: int = 150,
    marks: Sequence[PlacedAnnotation] = (),
    caption: str = "",
) -> bytes:
    """The figure as the bytes of a png, svg or pdf file; the same every time."""
    import matplotlib

    made = io.BytesIO()
    undated = {"svg": {"Date": None}, "pdf": {"CreationDate": None}}.get(kind)
    with _DRAWING, matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "curvewright"}):
        sheet = drawn_figure(figure, size, marks, caption)
        sheet.savefig(made, format=kind, dpi=dpi, metadata=undated)
    return made.getvalue()


def drawn_figure(
    figure: CurveFigure,
    size: tuple[float, float],
    marks: Sequence[PlacedAnnotation] = (),
    caption: str = "",
    decimal_comma: bool = False,
) -> "Figure":
    """The figure drawn by matplotlib, on white."""
    from matplotlib.figure import Figure

    sheet = Figure(figsize=size, facecolor="white")
    handles = _legend_lines(figure)
    said = textwrap.wrap(caption, int(size[0] * 15)) if caption else []
    columns = _legend_columns(handles, size[0])
    lines = -(-len(handles) // columns) + len(said)
    count = max(1, len(figure.panels))
    axes = sheet.subplots(count, 1, sharex=True, squeeze=False)[:, 0]
    wide, high = size
    below = BOTTOM + lines * LINE + 0.06
    sheet.subplots_adjust(LEFT / wide, below / high, 1 - RIGHT / wide, 1 - TOP / high, hspace=0.09)
    for ax, panel in zip(axes, figure.panels, strict=False):
        _draw_panel(ax, panel, wide - LEFT - RIGHT)
        if decimal_comma:
            ax.xaxis.set_major_formatter(_comma_formatter())
            ax.yaxis.set_major_formatter(_comma_formatter())
        for one in marks:
            if one.mark.panel == panel.id:
                draw_annotation(ax, figure, one)
    if figure.panels:
        last = figure.panels[-1]
        axes[-1].set_xlabel(with_unit(last.x_label, last.x_unit), fontsize=9, labelpad=2)
    axes[0].set_title(figure.title, fontsize=10, pad=4, y=1.0)
    if handles:
        sheet.legend(
            handles=handles,
            loc="lower center",
            bbox_to_anchor=(0.5, (len(said) * LINE + 0.02) / high),
            ncols=columns,
            fontsize=8,
            frameon=False,
            borderaxespad=0,
            labelspacing=0.3,
            handlelength=3.2,
        )
    if said:
        text = unformatted("\n".join(said))
        sheet.text(LEFT / wide, 0.05 / high, text, fontsize=8, va="bottom", color=INK)
    return sheet


def _comma_formatter() -> "ScalarFormatter":
    """Numbers along an axis with the decimal comma, whatever locale the program runs in."""
    from matplotlib.ticker import ScalarFormatter

    class CommaFormatter(ScalarFormatter):
        def __call__(self, x: float, pos: int | None = None) -> str:
            return super().__call__(x, pos).replace(".", ",")

    return CommaFormatter()


def _draw_panel(ax: "Axes", panel: Panel, width: float) -> None:
    from matplotlib.ticker import MaxNLocator

    for series in panel.series:
        _draw_series(ax, series)
    for marks in panel.marks:
        _draw_marks(ax, marks)
    ax.set_ylabel(with_unit(panel.y_label, panel.y_unit), fontsize=9)
    ax.yaxis.set_label_coords(-LABEL_AT / width, 0.5)
    ax.tick_params(labelsize=8)
    ax.xaxis.set_major_locator(MaxNLocator(7, steps=ROUND))
    ax.yaxis.set_major_locator(MaxNLocator(6, steps=ROUND))
    ax.grid(True, color=GRID, linewidth=0.6)
    ax.set_axisbelow(True)
    ax.margins(x=0.02)
    if panel.id == "difference":
        ax.axhline(0.0, color=INK, linewidth=0.8)
    else:
        ax.set_ylim(bottom=0.0)


def _draw_series(ax: "Axes", series: Series) -> None:
    if series.style is None:
        ax.plot(series.x, series.y, color=OTHERS, linewidth=0.6, zorder=1)
        return
    style = print_style(series.style)
    if series.role == "predicted":
        ax.plot(series.x, series.y, color=style.tint, linewidth=BAND_WIDTH, zorder=2)
        return
    (line,) = ax.plot(
        series.x,
        series.y,
        color=style.colour,
        linewidth=1.6 if series.emphasised else 1.2,
        marker=style.marker,
        markersize=4,
        markevery=max(1, len(series.x) // MARKERS_ALONG_CURVE),
        zorder=3,
    )
    if style.dashes:
        line.set_dashes(style.dashes)


def _draw_marks(ax: "Axes", marks: KeyPointMarks) -> None:
    style = print_style(marks.style)
    ax.plot(
        marks.x,
        marks.y,
        linestyle="none",
        marker=style.marker,
        markersize=7,
        markeredgecolor=style.colour,
        markerfacecolor=style.colour if marks.measured else "white",
        zorder=4,
        clip_on=False,
    )


def _legend_lines(figure: CurveFigure) -> "list[Line2D]":
    from matplotlib.lines import Line2D

    lines: list[Line2D] = []
    for index, label in figure.labels().items():
        style = print_style(index)
        line = Line2D([], [], color=style.colour, marker=style.marker, markersize=4)
        line.set_label(_listed(f"{shortened(label)}, measured"))
        if style.dashes:
            line.set_dashes(style.dashes)
        lines.append(line)
    roles = {one.role for panel in figure.panels for one in panel.series}
    if "predicted" in roles:
        band = Line2D([], [], color="#CFCFCF", linewidth=BAND_WIDTH)
        band.set_label(f"broad band, open marks: {figure.predicted}")
        lines.append(band)
    others = sum(one.role == "other" for panel in figure.panels[:1] for one in panel.series)
    if others:
        lines.append(Line2D([], [], color=OTHERS, linewidth=0.6, label=f"others ({others})"))
    return lines


def _legend_columns(handles: "Sequence[Line2D]", width: float) -> int:
    """How many entries of the longest label's length stand side by side [width in inches]."""
    longest = max((len(str(one.get_label())) for one in handles), default=1)
    fitting = int(width / (SAMPLE + LETTER * longest))
    return max(1, min(LEGEND_COLUMNS, len(handles), fitting))


def shortened(label: str) -> str:
    return label if len(label) <= LONGEST_LABEL else label[: LONGEST_LABEL - 1] + "…"


def _listed(label: str) -> str:
    """A label that the legend prints as it stands: it leaves out those that begin with "_"."""
    return unformatted(f" {label}" if label.startswith("_") else label)
