"""The key points of many traces as one CSV table, a line a trace."""

import csv
import math
from collections.abc import Iterable, Iterator
from pathlib import Path

from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.nomenclature import KEY_POINTS
from viewer.site_data.cell_text import plain_cell
from viewer.site_data.whole_file import drafted

FIGURES = 8
"""Significant digits written: more than any trace has, so that nothing is lost."""


def headings() -> list[str]:
    """Column names: the quantity, whose value it is, and the unit."""
    columns = ["trace", "combiner", "string", "measured_at"]
    columns += ["poa_global [W/m2]", "temperature_cell [C]"]
    for group in ("measured", "predicted", "translated"):
        columns += [f"{group} {one.name}{_unit(one.unit)}" for one in KEY_POINTS]
    return [*columns, "power_ratio", "power_ratio_uncertainty (k=2)"]


def rows(results: Iterable[TraceResult]) -> Iterator[list[str]]:
    """One row of text a trace; empty where a value is not known."""
    for result in results:
        trace, used = result.trace, result.conditions
        line = [trace.source, *trace.place]
        line = [plain_cell(text) for text in line]
        line.append(trace.measured_at.isoformat() if trace.measured_at else "")
        line += [_number(used.poa_global), _number(used.temperature_cell)]
        for points in (result.measured, result.predicted, result.translated):
            line += [_number(getattr(points, one.name, None)) for one in KEY_POINTS]
        line += [_number(result.power_ratio), _number(result.power_ratio_uncertainty)]
        yield line


def save_key_points(results: Iterable[TraceResult], path: Path) -> None:
    """Write the table as UTF-8 with a decimal point and commas (RFC 4180)."""
    with drafted(path) as draft, draft.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(headings())
        writer.writerows(rows(results))


def _unit(unit: str) -> str:
    return f" [{unit}]" if unit else ""


def _number(value: float | None) -> str:
    return "" if value is None or not math.isfinite(value) else f"{value:.{FIGURES}g}"
