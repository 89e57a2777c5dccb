"""Traces and results as tidy pandas tables, columns named as pvlib and pv-terms name them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from viewer.analysis.batch import analyze_traces, neighbour_groups
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.reading.plain.key_names import CONDITION_NAMES
from viewer.reading.visits.copied_files import counted_once
from viewer.reading.visits.open_source import open_source
from viewer.reading.visits.visit_folder import failures
from viewer.site_data.iv_trace import Trace

_NAMES = ("combiner", "string", "serial", "note", "sha256")
_WHOSE = ("measured", "predicted", "translated")


@dataclass(frozen=True, eq=False)
class SiteTables:
    """traces: a row a trace, its names, time and conditions as read. key_points: a row a trace
    and whose values they are (measured, predicted, translated). findings: a row a signature or
    candidate cause. points: a row a point. unreadable: a row a file that gave no trace.

    All share the column `trace`, the path of the file.
    """

    traces: pd.DataFrame
    key_points: pd.DataFrame
    findings: pd.DataFrame
    points: pd.DataFrame
    unreadable: pd.DataFrame


def open_tables(path: str | Path) -> SiteTables:
    """Reads and analyses a visit folder or site file: for notebooks and scripts.

    In this process alone: others would begin by running the script that called it once more.
    Raises ValueError with one sentence if nothing there can be opened.
    """
    opened = open_source(path)
    read = [one for source in opened.sources for one in opened.read(source)]
    traces, _ = counted_once([one for one in read if isinstance(one, Trace)], opened.layout)
    outcomes = [
        one for group in analyze_traces(neighbour_groups(traces), opened.layout) for one in group
    ]
    results = [one for one in outcomes if isinstance(one, TraceResult)]
    bad = failures((*read, *outcomes))
    order = {trace.source: at for at, trace in enumerate(traces)}
    results.sort(key=lambda one: order[one.trace.source])
    return SiteTables(
        traces=trace_table(traces),
        key_points=key_point_table(results),
        findings=finding_table(results),
        points=point_table(traces),
        unreadable=pd.DataFrame(
            {"trace": [one.source for one in bad], "problem": [one.problem for one in bad]},
            dtype="str",
        ),
    )


def trace_table(traces: Sequence[Trace]) -> pd.DataFrame:
    """A row a trace: trace, combiner, string, measured_at, conditions, serial, note, ..."""
    columns: dict[str, object] = {"trace": _texts(trace.source for trace in traces)}
    for name in _NAMES[:2]:
        columns[name] = _texts(getattr(trace, name) for trace in traces)
    columns["measured_at"] = _texts(
        trace.measured_at.isoformat() if trace.measured_at else None for trace in traces
    )
    for name in CONDITION_NAMES:
        columns[name] = np.array(
            [_or_nan(getattr(trace.conditions, name)) for trace in traces], dtype=float
        )
    for name in _NAMES[2:]:
        columns[name] = _texts(getattr(trace, name) for trace in traces)
    columns["remarks"] = _texts(" ".join(trace.remarks) or None for trace in traces)
    return pd.DataFrame(columns)


def point_table(traces: Sequence[Trace]) -> pd.DataFrame:
    """A row a point in measured order: trace, its names, time and conditions, voltage, current."""
    about = trace_table(traces).drop(columns=["remarks"])
    counts = [trace.voltage.size for trace in traces]
    points = about.loc[about.index.repeat(counts)].reset_index(drop=True)
    points["voltage"] = np.concatenate([trace.voltage for trace in traces]) if traces else []
    points["current"] = np.concatenate([trace.current for trace in traces]) if traces else []
    return points


def key_point_table(results: Sequence[TraceResult]) -> pd.DataFrame:
    """A row for each trace and each of measured, predicted, translated that is known."""
    rows = [
        {"trace": result.trace.source, "of": whose, **points.as_dict()}
        | {
            "poa_global": _or_nan(result.conditions.poa_global),
            "temperature_cell": _or_nan(result.conditions.temperature_cell),
            "power_ratio": _or_nan(result.power_ratio),
            "power_ratio_uncertainty": _or_nan(result.power_ratio_uncertainty),
        }
        for result in results
        for whose in _WHOSE
        if isinstance(points := getattr(result, whose), KeyPoints)
    ]
    names = ["trace", "of", *KEY_POINT_NAMES, "poa_global", "temperature_cell"]
    return pd.DataFrame(rows, columns=[*names, "power_ratio", "power_ratio_uncertainty"])


def finding_table(results: Sequence[TraceResult]) -> pd.DataFrame:
    """A row for each signature (what: "signature") and candidate cause (what: "cause")."""
    rows: list[dict[str, object]] = []
    for result in results:
        rows += [
            {
                "trace": result.trace.source,
                "what": "signature",
                "name": one.kind,
                "size": one.size,
                "unit": one.unit,
                "text": one.text,
            }
            for one in result.signatures
        ]
        rows += [
            {
                "trace": result.trace.source,
                "what": "cause",
                "name": one.cause,
                "likelihood": one.likelihood,
                "text": one.evidence,
                "next_check": one.next_check,
            }
            for one in result.candidate_causes
        ]
    columns = ["trace", "what", "name", "size", "unit", "likelihood", "text", "next_check"]
    return pd.DataFrame(rows, columns=columns)


def _texts(values: Iterable[str | None]) -> "pd.Series[str]":
    return pd.Series(list(values), dtype="str")


def _or_nan(value: float | None) -> float:
    return np.nan if value is None else float(value)
