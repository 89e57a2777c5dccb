"""Plots into files: the one that is shown, or one for every selected string at once."""

import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from viewer.analysis.results.trace_result import TraceResult
from viewer.reports.annotation import PlacedAnnotation, shown_on
from viewer.reports.curve_figure import CurveFigure, curve_figure, trace_label
from viewer.reports.curve_figure_file import figure_bytes, save_curve_figure
from viewer.reports.document.trace_blocks import caption
from viewer.state.program.jobs import Progress, Step

CAPTIONS = 3
"""Strings whose captions stand under a plot of several."""


def figure_caption(results: Sequence[TraceResult]) -> str:
    """String, serial, conditions and date of each of the first few traces."""
    said = [caption(one) for one in results[:CAPTIONS]]
    if len(results) > CAPTIONS:
        said.append(f"And {len(results) - CAPTIONS} more.")
    return " ".join(said)


def save_all_plots(
    results: Sequence[TraceResult],
    marks: Sequence[PlacedAnnotation],
    form: str,
    panels: Sequence[str],
    folder: Path,
    suffix: str,
    dpi: int,
) -> Iterator[Progress]:
    """One file a trace, as its plot looks alone, with its marks and caption. Raises OSError."""
    taken: set[str] = set()
    for done, result in enumerate(results, start=1):
        figure = alone(result, form, panels)
        path = folder / (file_name(result, taken) + suffix)
        own = shown_on(figure, form, marks)
        save_curve_figure(figure, path, dpi=dpi, marks=own, caption=caption(result))
        yield Progress(done, len(results), "saving plots")


def save_plots_steps(*given: Any) -> Iterator[Step]:
    """A job's steps of `save_all_plots`."""
    for progress in save_all_plots(*given):
        yield Step(progress)


def save_plot_steps(
    figure: CurveFigure, path: Path, dpi: int, marks: Sequence[PlacedAnnotation], words: str
) -> Iterator[Step]:
    """The plot that is shown, into one file. Raises OSError, and ValueError for its suffix."""
    save_curve_figure(figure, path, dpi=dpi, marks=marks, caption=words)
    yield Step(Progress(1, 1))


def copy_plot_steps(
    figure: CurveFigure, dpi: int, marks: Sequence[PlacedAnnotation], words: str
) -> Iterator[Step]:
    """Brings it as a PNG picture and as an SVG drawing."""
    picture = figure_bytes(figure, "png", dpi=dpi, marks=marks, caption=words)
    drawing = figure_bytes(figure, "svg", marks=marks, caption=words)
    yield Step(Progress(1, 1), (picture, drawing))


def alone(result: TraceResult, form: str, panels: Sequence[str]) -> CurveFigure:
    """The plot of one trace by itself."""
    source = result.trace.source
    return curve_figure([result], {source: 0}, form, panels, source)


def file_name(result: TraceResult, taken: set[str]) -> str:
    """A file name from combiner, string and day that any system takes and no other has."""
    name = re.sub(r"[^\w.-]+", "_", trace_label(result, with_day=True)).strip("._")[:80] or "plot"
    made, number = name, 2
    while made.lower() in taken:
        made, number = f"{name}_{number}", number + 1
    taken.add(made.lower())
    return made
