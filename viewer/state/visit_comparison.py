"""One visit against another: which, each string's change in percent, and both traces to overlay."""

from collections.abc import Sequence
from dataclasses import dataclass

from viewer.analysis.results.counting_trace import counting_traces
from viewer.analysis.results.trace_result import TraceResult
from viewer.analysis.years.baseline_change import StringChange, visit_changes
from viewer.analysis.years.sample_plan import Place
from viewer.physics.nomenclature import KEY_POINT_NAMES, counted, quantity
from viewer.state.session import Session
from viewer.state.strings.string_rows import natural
from viewer.state.years.over_years import Years


@dataclass(frozen=True)
class ComparedVisits:
    """The earlier and the later visit by name; each None when there is none to choose."""

    then: str | None
    now: str | None

    @property
    def text(self) -> str:
        return f"{self.now} against {self.then}"


def compared_visits(session: Session) -> ComparedVisits:
    """The baseline, and the visit shown everywhere (the last one when that is the baseline)."""
    years = session.years
    then = years.baseline_name()
    names = years.found.usable_visits() if years.found else tuple(v.name for v in session.visits)
    if then is None:
        then = names[0] if names else None
    now = session.choices.visit.value
    if now is None or now == then or now not in names:
        others = [name for name in names if name != then]
        now = others[-1] if others else None
    return ComparedVisits(then, now)


def string_changes(
    years: Years, compared: ComparedVisits, same_instruments: bool
) -> list[StringChange]:
    """The change of every string traced on both visits; nothing without two visits."""
    names = years.visit_names
    if compared.then not in names or compared.now not in names:
        return []
    then, now = names.index(compared.then), names.index(compared.now)
    return visit_changes(years.observed, then, now, same_instruments=same_instruments)


def sorted_changes(changes: Sequence[StringChange], by: str, falling: bool) -> list[StringChange]:
    """Sorted by "place" or by the change of one key point, the worst first unless `falling`."""
    if by in KEY_POINT_NAMES:
        return sorted(changes, key=lambda one: one.change(by).percent, reverse=falling)
    return sorted(
        changes, key=lambda one: (natural(one.place[0]), natural(one.place[1])), reverse=falling
    )


def verdict(change: StringChange) -> str:
    """Which key points have changed beyond the uncertainty, in words."""
    if not change.beyond:
        return "no change shown"
    power_first = sorted(change.beyond, key=lambda name: name != "p_mp")
    parts = [
        f"{quantity(name).label} {'lower' if change.change(name).percent < 0 else 'higher'}"
        for name in power_first
    ]
    return ", ".join(parts)


def summary(changes: Sequence[StringChange], compared: ComparedVisits) -> str:
    """How many strings lost power beyond the uncertainty, in one sentence."""
    if compared.then is None or compared.now is None:
        return "Two visits with usable traces are needed."
    if not changes:
        return f"No string was traced on {compared.then} and on {compared.now}."
    power = [one.change("p_mp") for one in changes]
    lower = sum(one.is_beyond and one.percent < 0 for one in power)
    higher = sum(one.is_beyond and one.percent > 0 for one in power)
    neither = len(changes) - lower - higher
    return (
        f"{counted(len(changes), 'string')} traced on both visits: Pmp at STC lower beyond "
        f"the uncertainty in {lower}, higher in {higher}, no change shown in {neither}."
    )


def overlay_both(session: Session, change: StringChange) -> None:
    """Select the string's traces of both visits and show the curves translated to STC."""
    session.choices.form.value = "stc"
    session.selection.choose([change.then, change.now], change.now)


def results_by_string(session: Session, combiner: str, visit: str | None) -> dict[str, TraceResult]:
    """The trace that stands for each string of a combiner on one visit, by the string's name."""
    ids = next((one.trace_ids for one in session.visits if one.name == visit), frozenset())
    results = [one for one in session.all_results_of(combiner) if one.trace.source in ids]
    return {string: one for (_, string), one in counting_traces(results).items()}


def change_of(changes: Sequence[StringChange], place: Place) -> StringChange | None:
    return next((one for one in changes if one.place == place), None)
