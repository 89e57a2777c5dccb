"""Draws a curve figure into a file: PNG, SVG or PDF, by the file's suffix."""

from pathlib import Path

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from viewer.reports.curve_figure import CurveFigure, KeyPointMarks, Panel, Series, with_unit
from viewer.reports.curve_styles import STYLES, other_colour

MARKERS: dict[str, str] = {
    "circle": "o",
    "square": "s",
    "triangle": "^",
    "diamond": "D",
    "cross": "X",
    "star": "*",
}
SUFFIXES: tuple[str, ...] = (".png", ".svg", ".pdf")
MARKERS_ALONG_CURVE = 12


def save_curve_figure(
    figure: CurveFigure, path: Path, size: tuple[float, float] = (9.0, 7.5), dpi: int = 150
) -> None:
    """Write the figure. `size` in inches. Raises ValueError for a suffix not in SUFFIXES."""
    if path.suffix.lower() not in SUFFIXES:
        raise ValueError(f"{path.name}: a plot is saved as {', '.join(SUFFIXES)} only.")
    with matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "curvewright"}):
        sheet = drawn_figure(figure, size)
        sheet.savefig(path, dpi=dpi)


def drawn_figure(figure: CurveFigure, size: tuple[float, float]) -> Figure:
    """The figure drawn by matplotlib, on white."""
    sheet = Figure(figsize=size, layout="constrained")
    count = max(1, len(figure.panels))
    axes = sheet.subplots(count, 1, sharex=True, squeeze=False)[:, 0]
    for ax, panel in zip(axes, figure.panels, strict=True):
        _draw_panel(ax, panel)
    if figure.panels:
        last = figure.panels[-1]
        axes[-1].set_xlabel(with_unit(last.x_label, last.x_unit))
    axes[0].set_title(figure.title)
    handles = _legend_lines(figure)
    if handles:
        sheet.legend(handles=handles, loc="outside lower center", ncols=4, fontsize="small")
    return sheet


def _draw_panel(ax: Axes, panel: Panel) -> None:
    for series in panel.series:
        _draw_series(ax, series)
    for marks in panel.marks:
        _draw_marks(ax, marks)
    ax.set_ylabel(with_unit(panel.y_label, panel.y_unit))
    ax.grid(True, color="#D8DADF", linewidth=0.6)
    ax.set_axisbelow(True)
    ax.margins(x=0.02)
    if panel.id == "difference":
        ax.axhline(0.0, color="#606060", linewidth=0.8)
    else:
        ax.set_ylim(bottom=0.0)


def _draw_series(ax: Axes, series: Series) -> None:
    if series.style is None:
        ax.plot(series.x, series.y, color=other_colour(False), linewidth=0.6, zorder=1)
        return
    style = STYLES[series.style]
    if series.role == "predicted":
        ax.plot(series.x, series.y, color=style.on_light, alpha=0.3, linewidth=5, zorder=2)
        return
    (line,) = ax.plot(
        series.x,
        series.y,
        color=style.on_light,
        linewidth=1.8 if series.emphasised else 1.3,
        marker=MARKERS[style.marker],
        markersize=4,
        markevery=max(1, len(series.x) // MARKERS_ALONG_CURVE),
        zorder=3,
    )
    if style.dashes:
        line.set_dashes(style.dashes)


def _draw_marks(ax: Axes, marks: KeyPointMarks) -> None:
    style = STYLES[marks.style]
    ax.plot(
        marks.x,
        marks.y,
        linestyle="none",
        marker=MARKERS[style.marker],
        markersize=8,
        markeredgecolor=style.on_light,
        markerfacecolor=style.on_light if marks.measured else "white",
        zorder=4,
        clip_on=False,
    )


def _legend_lines(figure: CurveFigure) -> list[Line2D]:
    lines: list[Line2D] = []
    for index, label in figure.labels().items():
        style = STYLES[index]
        line = Line2D(
            [], [], color=style.on_light, marker=MARKERS[style.marker], markersize=4, label=label
        )
        if style.dashes:
            line.set_dashes(style.dashes)
        lines.append(line)
    roles = {one.role for panel in figure.panels for one in panel.series}
    if "predicted" in roles:
        lines.append(
            Line2D([], [], color="#606060", alpha=0.3, linewidth=5, label="broad band: predicted")
        )
    others = sum(one.role == "other" for panel in figure.panels[:1] for one in panel.series)
    if others:
        lines.append(
            Line2D([], [], color=other_colour(False), linewidth=0.6, label=f"others ({others})")
        )
    return lines
