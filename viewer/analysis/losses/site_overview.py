"""All combiners at once: one grid of any quantity, and the strings that cost most."""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.losses.energy_cost import EnergyCost, YearOfLight, cost_of
from viewer.analysis.results.counting_trace import counting_traces
from viewer.analysis.results.trace_result import WRONG_READINGS, TraceResult
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.site_data.site_layout import SiteLayout

Array = NDArray[np.float64]


@dataclass(frozen=True)
class OverviewQuantity:
    """One quantity the grid can show; `value` takes a result and gives NaN where unknown."""

    name: str
    label: str
    unit: str
    value: Callable[[TraceResult], float]


def _ratio(name: str) -> Callable[[TraceResult], float]:
    def value(result: TraceResult) -> float:
        if result.predicted is None:
            return math.nan
        expected = getattr(result.predicted, name)
        return float(getattr(result.measured, name)) / expected if expected else math.nan

    return value


def _power_ratio(result: TraceResult) -> float:
    return math.nan if result.power_ratio is None else result.power_ratio


def _lost(kind: str | None) -> Callable[[TraceResult], float]:
    """W lost to one kind of signature, or to all; 0 where a prediction finds none."""

    def value(result: TraceResult) -> float:
        if result.predicted is None:
            return math.nan
        return sum(s.loss for s in result.signatures if kind is None or s.kind == kind)

    return value


def _likelihood(result: TraceResult) -> float:
    """How surely something is wrong, 0 for nothing."""
    return result.fault_likelihood if result.candidate_causes else math.nan


OVERVIEW_QUANTITIES: dict[str, OverviewQuantity] = {
    q.name: q
    for q in (
        OverviewQuantity("power_ratio", "Power ratio", "", _power_ratio),
        *(
            OverviewQuantity(f"{name}_ratio", f"{name} over predicted", "", _ratio(name))
            for name in KEY_POINT_NAMES
        ),
        OverviewQuantity("suspicion", "Suspicion", "", _likelihood),
        OverviewQuantity("loss", "Loss explained", "W", _lost(None)),
        OverviewQuantity("loss_step", "Loss by steps", "W", _lost("step")),
        OverviewQuantity("loss_low_current", "Loss by low current", "W", _lost("low_current")),
        OverviewQuantity("loss_low_voltage", "Loss by low voltage", "W", _lost("low_voltage")),
        OverviewQuantity(
            "loss_slope_near_voc", "Loss by series resistance", "W", _lost("slope_near_voc")
        ),
        OverviewQuantity("loss_slope_near_isc", "Loss by leakage", "W", _lost("slope_near_isc")),
        OverviewQuantity(
            "loss_rounded_knee", "Loss by unequal modules", "W", _lost("rounded_knee")
        ),
    )
}


@dataclass(frozen=True, eq=False)
class SiteOverview:
    """Rows are combiners, columns string positions.

    values: shape (combiners, positions), NaN where there is no string or nothing is known.
    strings[row][column] is the string's name; results[row][column] its index in the results
    given, -1 where it has none.
    """

    quantity: OverviewQuantity
    combiners: tuple[str, ...]
    strings: tuple[tuple[str, ...], ...]
    values: Array
    results: NDArray[np.intp]


def site_overview(
    results: Sequence[TraceResult], layout: SiteLayout | None, quantity: str = "power_ratio"
) -> SiteOverview:
    """The grid of one quantity; of several traces of a string that of `counting_traces` counts.

    Raises KeyError for a quantity that is not in OVERVIEW_QUANTITIES.
    """
    chosen = OVERVIEW_QUANTITIES[quantity]
    latest = counting_traces(results)
    places_of = {id(one): place for place, one in enumerate(results)}
    names = _positions(latest, layout)
    width = max((len(strings) for strings in names.values()), default=0)
    values = np.full((len(names), width), math.nan)
    places = np.full((len(names), width), -1, dtype=np.intp)
    for row, (combiner, strings) in enumerate(names.items()):
        for column, string in enumerate(strings):
            counting = latest.get((combiner, string))
            if counting is not None:
                places[row, column] = places_of[id(counting)]
                values[row, column] = chosen.value(counting)
    return SiteOverview(
        chosen, tuple(names), tuple(tuple(strings) for strings in names.values()), values, places
    )


def _positions(
    latest: Iterable[tuple[str, str]], layout: SiteLayout | None
) -> dict[str, list[str]]:
    """Strings of each combiner in the layout's order, then those traced but not listed."""
    names: dict[str, list[str]] = {}
    known: set[tuple[str, str]] = set()
    for box in layout.combiners if layout else ():
        names[box.name] = [one.name for one in box.strings]
        known.update((box.name, one.name) for one in box.strings)
    for combiner, string in latest:
        if (combiner, string) not in known:
            names.setdefault(combiner, []).append(string)
    return names


@dataclass(frozen=True)
class CostlyString:
    """One string of the list of worst strings."""

    combiner: str
    string: str
    power_ratio: float
    first_cause: str
    likelihood: float
    cost: EnergyCost
    trace: str = ""
    """Source of the trace that says so."""
    power_ratio_uncertainty: float | None = None
    """Expanded, k = 2."""


def worst_strings(
    results: Sequence[TraceResult],
    layout: SiteLayout | None,
    year: YearOfLight | None,
    count: int = 20,
    price: float | None = None,
    currency: str = "",
) -> tuple[CostlyString, ...]:
    """The strings that cost most, by energy where the year is known, else by power at STC.

    Only strings whose first cause is a fault of the string are listed, for a wrong reading costs
    nothing.
    """
    listed = []
    for counting in counting_traces(results).values():
        one = _costly(counting, layout, year, price, currency)
        if one is not None:
            listed.append(one)
    listed.sort(key=lambda one: (-one.cost.lost_in_year, -one.cost.lost_at_stc))
    return tuple(listed[:count])


def _costly(
    result: TraceResult,
    layout: SiteLayout | None,
    year: YearOfLight | None,
    price: float | None,
    currency: str,
) -> CostlyString | None:
    if result.power_ratio is None or not result.candidate_causes:
        return None
    first = result.candidate_causes[0]
    if first.cause == "none" or first.cause in WRONG_READINGS:
        return None
    cost = cost_of(result, _rated_power(result, layout), year, price, currency)
    if cost is None or cost.lost_at_stc <= 0.0:
        return None
    return CostlyString(
        result.trace.combiner or "",
        result.trace.string or result.trace.source,
        result.power_ratio,
        first.cause,
        first.likelihood,
        cost,
        result.trace.source,
        result.power_ratio_uncertainty,
    )


def _rated_power(result: TraceResult, layout: SiteLayout | None) -> float | None:
    string = layout.string(result.trace.combiner, result.trace.string) if layout else None
    if layout is None or string is None or string.module not in layout.modules:
        return None
    module = layout.modules[string.module]
    return module.p_mp * string.modules_in_series * string.strings_in_parallel
