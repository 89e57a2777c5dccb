"""The numbers behind the heat-grid: one combiner's strings against prediction or each other."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.results.trace_result import KINDS, TraceResult
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.site_data.site_layout import SiteLayout
from viewer.state.strings.string_rows import natural
from viewer.state.strings.times_of_day import day_and_time, iso_time, names_told

REFERENCES: dict[str, str] = {
    "prediction": "the prediction",
    "median": "the combiner's median",
    "visit": "the baseline visit",
}


@dataclass(frozen=True)
class GridSignature:
    """One kind of signature on one string.

    `text` is its loss in W, or its size where it costs nothing. `share` is minus the loss in
    percent of the predicted power, as a deviation is; NaN where it costs nothing.
    """

    text: str
    share: float
    words: str


@dataclass(frozen=True)
class GridRow:
    """One string of the combiner; `trace_id` None when the visit has no trace of it.

    `suspicion` is the likelihood of a fault times the power missing, 0 for none.
    """

    string: str
    day: str
    time: str
    trace_id: str | None
    signatures: Mapping[str, GridSignature] = field(default_factory=dict)
    suspicion: float = 0.0


@dataclass(frozen=True, eq=False)
class DeviationGrid:
    """Rows are strings, columns the six key points.

    `measured` has each quantity's own unit, `deviation` [%]; shape (rows, 6), NaN where
    unknown. `basis` says in words what the deviation was taken from. `kinds` are the kinds of
    signature that any of the strings shows.
    """

    combiner: str
    rows: tuple[GridRow, ...]
    measured: NDArray[np.float64]
    deviation: NDArray[np.float64]
    basis: str

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The string of each row; with its day where the grid has several, and with the time where
        a string has several traces of a day.
        """
        moments = [(self.combiner, row.string, row.day, row.time) for row in self.rows]
        days = {row.day for row in self.rows if row.trace_id is not None}
        return tuple(names_told(moments, with_days=len(days) > 1))

    @cached_property
    def kinds(self) -> tuple[str, ...]:
        return tuple(kind for kind in KINDS if any(kind in row.signatures for row in self.rows))


def deviation_grid(
    results: Sequence[TraceResult],
    combiner: str,
    layout: SiteLayout | None = None,
    reference: str = "prediction",
    then: Mapping[str, TraceResult] | None = None,
    then_visit: str = "",
    suspects_first: bool = False,
) -> DeviationGrid:
    """The grid of one combiner from its traces of the shown visit.

    Against another visit, both traces' key points at STC are compared; `then` holds that
    visit's trace of each string by its name.

    Against the median, each string's measured-to-predicted ratio is compared with the median
    ratio of the combiner, so that irradiance and temperature, which change from one sweep to
    the next, cancel; where there is no prediction the measured values themselves are compared.
    """
    mine = [one for one in results if (one.trace.combiner or "") == combiner]
    rows = [_row(one) for one in mine]
    measured = _values([one.measured for one in mine])
    predicted = _values([one.predicted for one in mine])
    if reference == "visit":
        deviation = _against_visit(mine, then or {})
        basis = f"at STC against {then_visit}" if then_visit else "no other visit to compare with"
    else:
        deviation, basis = _deviation(measured, predicted, reference)
    absent = _absent(combiner, layout, {row.string for row in rows})
    nothing = np.full((len(absent), len(KEY_POINT_NAMES)), math.nan)
    both = rows + absent
    order = sorted(range(len(both)), key=lambda place: _place(both[place]))
    if suspects_first:
        order.sort(key=lambda place: (-both[place].suspicion, both[place].trace_id is None))
    return DeviationGrid(
        combiner,
        tuple(both[i] for i in order),
        np.concatenate([measured, nothing])[order],
        np.concatenate([deviation, nothing])[order],
        basis,
    )


def _row(result: TraceResult) -> GridRow:
    trace = result.trace
    return GridRow(
        trace.string or trace.source,
        *day_and_time(iso_time(result)),
        trace.source,
        _signatures(result),
        suspicion(result),
    )


def suspicion(result: TraceResult) -> float:
    """Likelihood that the string has a fault times the share of power that is missing."""
    if result.power_ratio is None:
        return 0.0
    return result.fault_likelihood * max(1.0 - result.power_ratio, 0.0)


def _signatures(result: TraceResult) -> dict[str, GridSignature]:
    found: dict[str, GridSignature] = {}
    for kind in dict.fromkeys(one.kind for one in result.signatures):
        mine = [one for one in result.signatures if one.kind == kind]
        loss = sum(one.loss for one in mine)
        expected = result.predicted.p_mp if result.predicted is not None else 0.0
        words = " ".join(one.text for one in mine)
        if loss > 0.0 and expected > 0.0:
            found[kind] = GridSignature(f"−{loss:.0f} W", -100.0 * loss / expected, words)
        else:
            text = f"{mine[0].size:g} {mine[0].unit}".strip()
            found[kind] = GridSignature(text, math.nan, words)
    return found


def _place(row: GridRow) -> tuple[object, str, str]:
    return natural(row.string), row.day, row.time


def _absent(combiner: str, layout: SiteLayout | None, seen: set[str]) -> list[GridRow]:
    boxes = [box for box in layout.combiners if box.name == combiner] if layout else []
    return [
        GridRow(one.name, "", "", None)
        for box in boxes
        for one in box.strings
        if one.name not in seen
    ]


def _values(points: Sequence[object]) -> NDArray[np.float64]:
    table = [[getattr(one, name, math.nan) for name in KEY_POINT_NAMES] for one in points]
    return np.array(table, dtype=float).reshape(len(points), len(KEY_POINT_NAMES))


def _deviation(
    measured: NDArray[np.float64], predicted: NDArray[np.float64], reference: str
) -> tuple[NDArray[np.float64], str]:
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = measured / predicted
    if reference == "prediction":
        return 100.0 * (ratio - 1.0), "measured against predicted"
    if np.isfinite(ratio).any():
        return _against_median(ratio), "ratios to prediction against their median"
    return _against_median(measured), "measured against median (no prediction)"


def _against_visit(
    mine: Sequence[TraceResult], then: Mapping[str, TraceResult]
) -> NDArray[np.float64]:
    before = [then.get(one.trace.string or one.trace.source) for one in mine]
    earlier = _values([one.translated if one else None for one in before])
    with np.errstate(divide="ignore", invalid="ignore"):
        return 100.0 * (_values([one.translated for one in mine]) / earlier - 1.0)


def _against_median(values: NDArray[np.float64]) -> NDArray[np.float64]:
    known = np.isfinite(values)
    median = np.full(values.shape[1], math.nan)
    for column in np.flatnonzero(known.any(axis=0)):
        median[column] = np.median(values[known[:, column], column])
    with np.errstate(divide="ignore", invalid="ignore"):
        return 100.0 * (values / median - 1.0)
