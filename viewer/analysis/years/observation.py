"""What the years are judged by: each string's values at STC on each visit, with uncertainty."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from math import hypot, isfinite

from viewer.analysis.causes.field_notes import says_cleaned, says_uncleaned
from viewer.analysis.results.counting_trace import DISQUALIFYING_CHECKS
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.physics.uncertainty.uncertainty import COVERAGE, InputUncertainties
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.visit_grouping import VisitGroup, comparable, group_visits

QUANTITIES: tuple[str, ...] = ("p_mp", "i_sc", "v_oc", "fill_factor")
"""What a rate is made for: power, and the three whose product it is."""

NO_REAR = "no rear irradiance was recorded, though it was for other traces of that module type"

DAYS_A_YEAR = 365.25


@dataclass(frozen=True)
class Shares:
    """Relative standard uncertainty (k = 1) of one value, by whom it is shared.

    `own` differs from trace to trace; `common` moves every string of a visit alike.
    """

    own: float
    common: float

    @property
    def total(self) -> float:
        return hypot(self.own, self.common)


@dataclass(frozen=True)
class Observation:
    """One trace at STC: `values` and `uncertainty` for each key point.

    years: since the site's first trace; visit: place in `Observed.visits`; cleaned: True or
    False where the trace's note says so.
    """

    source: str
    combiner: str
    string: str
    module_type: str
    visit: int
    measured_at: datetime
    years: float
    values: dict[str, float]
    uncertainty: dict[str, Shares]
    cleaned: bool | None = None
    serial: str | None = None
    rear_unknown: bool = False
    """A bifacial module whose rear irradiance was not read: its values at STC are too high."""
    power_uncertainty: float = 0.0
    """Relative standard uncertainty (k = 1) of the power at STC by the trace's own budget. It also
    holds what cancels between visits, such as the datasheet's coefficients and the distance moved:
    an absolute statement needs it, a rate does not."""

    @property
    def place(self) -> tuple[str, str]:
        return self.combiner, self.string


@dataclass(frozen=True)
class Observed:
    """All observations of a site, its visits in order of time, and what was left out and why."""

    observations: tuple[Observation, ...]
    visits: tuple[VisitGroup, ...]
    left_out: dict[str, int]

    @property
    def notes(self) -> tuple[str, ...]:
        """How many traces were left out, one sentence a reason."""
        return tuple(
            f"{count} trace{'s' if count > 1 else ''} left out: {reason}."
            for reason, count in sorted(self.left_out.items())
        )


def observe(
    results: Sequence[TraceResult],
    layout: SiteLayout,
    inputs: InputUncertainties | None = None,
    *,
    all_conditions: bool = False,
) -> Observed:
    """The observations among results; `all_conditions` keeps traces that failed their checks."""
    inputs = inputs or InputUncertainties()
    visits = group_visits([one.trace for one in results])
    visit_of = {member: number for number, visit in enumerate(visits) for member in visit.members}
    dated = [comparable(r.trace.measured_at) for r in results if r.trace.measured_at]
    first = min(dated, default=None)

    @cache
    def shares(module: str) -> dict[str, Shares]:
        return stc_uncertainty(layout.modules.get(module), inputs)

    found: list[Observation] = []
    left_out: Counter[str] = Counter()
    for place, result in enumerate(results):
        reason = _unfit(result, layout, all_conditions)
        moment = result.trace.measured_at
        if reason or first is None or moment is None:
            left_out[reason] += 1
            continue
        years = (comparable(moment) - first).total_seconds() / 86400 / DAYS_A_YEAR
        found.append(_observation(result, layout, shares, visit_of[place], years, moment))
    kept = found if all_conditions else _alike_in_rear(found)
    if len(kept) < len(found):
        left_out[NO_REAR] = len(found) - len(kept)
    return Observed(tuple(kept), tuple(visits), dict(left_out))


def _alike_in_rear(found: list[Observation]) -> list[Observation]:
    """Without those that lack their rear irradiance where others of the module type have it: the
    light from behind, some per cent, would be taken for a change."""
    with_it = {one.module_type for one in found if not one.rear_unknown}
    return [one for one in found if not (one.rear_unknown and one.module_type in with_it)]


def _unfit(result: TraceResult, layout: SiteLayout, all_conditions: bool) -> str:
    """Why a result is no observation, or an empty text."""
    trace = result.trace
    if trace.measured_at is None:
        return "no time was recorded"
    if layout.string(trace.combiner, trace.string) is None:
        return "the string is not in the layout"
    if result.translated is None:
        return "no values at STC"
    values = result.translated.as_dict()
    if not all(isfinite(value) and value > 0 for value in values.values()):
        return "no complete set of values at STC"
    failed = [c.check for c in result.conditions.checks if not c.passed]
    disqualified = sorted(DISQUALIFYING_CHECKS.intersection(failed))
    if disqualified and not all_conditions:
        return f"check not passed: {disqualified[0]}"
    return ""


def _observation(
    result: TraceResult,
    layout: SiteLayout,
    shares: Callable[[str], dict[str, Shares]],
    visit: int,
    years: float,
    moment: datetime,
) -> Observation:
    trace = result.trace
    string = layout.string(trace.combiner, trace.string)
    values = result.translated.as_dict() if result.translated else {}
    assert string is not None
    return Observation(
        source=trace.source,
        combiner=trace.combiner or "",
        string=string.name,
        module_type=string.module,
        visit=visit,
        measured_at=moment,
        years=years,
        values={name: values[name] for name in KEY_POINT_NAMES},
        uncertainty=shares(string.module),
        cleaned=cleaning_state(trace.note),
        serial=trace.serial,
        rear_unknown=result.conditions.rear_unknown,
        power_uncertainty=_power_uncertainty(result),
    )


def _power_uncertainty(result: TraceResult) -> float:
    expanded = result.uncertainty.translated if result.uncertainty else None
    if expanded is None or result.translated is None:
        return 0.0
    relative = expanded.p_mp / COVERAGE / result.translated.p_mp
    return relative if isfinite(relative) else 0.0


def stc_uncertainty(datasheet: Datasheet | None, inputs: InputUncertainties) -> dict[str, Shares]:
    """Relative standard uncertainty of values measured in good sun and moved to STC.

    Irradiance sensor and tracer accuracies move all strings of a visit alike; the reading of
    one module's temperature for a whole string, and the translation, differ from trace to
    trace. Temperature works through the datasheet's coefficients (of a usual crystalline
    module when there is none).
    """
    alpha, beta, gamma = (
        (datasheet.alpha_sc, datasheet.beta_voc, datasheet.gamma_pmp)
        if datasheet
        else (0.05, -0.30, -0.38)
    )

    def by_temperature(coefficient: float) -> float:
        return abs(coefficient) / 100 * float(inputs.temperature_cell)

    current = hypot(float(inputs.irradiance), inputs.current)
    return {
        "p_mp": Shares(
            hypot(by_temperature(gamma), inputs.procedure), hypot(current, inputs.voltage)
        ),
        "i_sc": Shares(hypot(by_temperature(alpha), inputs.current), current),
        "i_mp": Shares(hypot(by_temperature(alpha), inputs.current, inputs.procedure), current),
        "v_mp": Shares(
            hypot(by_temperature(gamma - alpha), inputs.voltage, inputs.procedure), inputs.voltage
        ),
        "v_oc": Shares(hypot(by_temperature(beta), inputs.voltage), inputs.voltage),
        "fill_factor": Shares(hypot(by_temperature(gamma - alpha - beta), inputs.procedure), 0.0),
    }


def cleaning_state(note: str | None) -> bool | None:
    """Whether the string was cleaned when traced, as far as the note says it.

    One of which a part was not is none that was cleaned.
    """
    if says_uncleaned(note):
        return False
    return True if says_cleaned(note) else None


def visit_names(visits: Iterable[VisitGroup]) -> list[str]:
    """The visits' names in order of time."""
    return [visit.name for visit in visits]
