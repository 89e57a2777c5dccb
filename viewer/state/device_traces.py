"""The traces of one string, read and made ready without the analysis of the whole site."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from viewer.analysis.comparison import AnalysisInputs
from viewer.analysis.device.usable_traces import usable_traces
from viewer.analysis.prediction.preparation import Prepared, prepare
from viewer.analysis.prediction.site_models import SiteModels, site_models
from viewer.analysis.prediction.string_cable import string_cable_resistance
from viewer.reading.visits.copied_files import counted_once
from viewer.reading.visits.names_from_path import path_names
from viewer.reading.visits.open_source import open_source
from viewer.reading.visits.visit_folder import failures
from viewer.site_data.iv_trace import Trace
from viewer.site_data.site_layout import SiteLayout, StringLayout
from viewer.site_data.visit_grouping import visit_place
from viewer.state.visits import Visit, visits_of

MOST_NAMED = 12
"""Strings that a sentence names where none of them was asked for."""


@dataclass(frozen=True, eq=False)
class DeviceTraces:
    """The usable traces of one string on one visit, and a sentence on each other."""

    place: tuple[str, str]
    visit: str
    layout: SiteLayout
    models: SiteModels
    usable: tuple[Prepared, ...]
    left_out: tuple[str, ...]

    @property
    def string(self) -> StringLayout | None:
        """What the layout says of it."""
        return self.layout.string(*self.place)


def device_traces(
    path: Path,
    name: str | None,
    visit: str | None,
    inputs: AnalysisInputs,
    told: Callable[[int, int], object] = lambda done, total: None,
) -> DeviceTraces:
    """name: COMBINER/STRING, or None where there is only one string. visit: by its name; None for
    the newest on which the string was traced, as it may have aged between two.

    told: of how many files of how many are read. Raises ValueError with one sentence.
    """
    opened = open_source(path)
    found: list[object] = []
    for done, source in enumerate(opened.sources, start=1):
        found += opened.read(source)
        told(done, len(opened.sources))
    traces, _ = counted_once([one for one in found if isinstance(one, Trace)], opened.layout)
    own = _of_string(traces, name)
    chosen = _visit(traces, own, visit)
    own = [one for one in own if one.source in chosen.trace_ids]
    place = own[0].place
    string = opened.layout.string(*place)
    sheets = opened.layout.modules
    models = site_models({string.module: sheets[string.module]} if string else {})
    prepared, unusable = prepare(own, opened.layout, models, inputs.rules, inputs.thresholds)
    usable, left_out = usable_traces(prepared)
    unread = [one for one in failures(found) if path_names(one.source, opened.layout) == place]
    problems = (*(one.problem for one in (*unread, *unusable)), *left_out)
    return DeviceTraces(place, chosen.name, opened.layout, models, tuple(usable), problems)


def _name(trace: Trace) -> str:
    return f"{trace.combiner or ''}/{trace.string or trace.source}"


def _of_string(traces: list[Trace], name: str | None) -> list[Trace]:
    names = list(dict.fromkeys(_name(one) for one in traces))
    if not names:
        raise ValueError("no trace could be read")
    if name is None and len(names) > 1:
        raise ValueError(f"name one string as COMBINER/STRING: {_some(names)}")
    wanted = names[0] if name is None else name
    own = [one for one in traces if _name(one) == wanted]
    if not own:
        raise ValueError(f"there is no trace of {wanted}; there are {_some(names)}")
    return own


def _some(names: list[str]) -> str:
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(names[:MOST_NAMED]) + more


def _visit(traces: list[Trace], own: list[Trace], name: str | None) -> Visit:
    sources = {one.source for one in own}
    visits = [one for one in visits_of(traces) if one.trace_ids & sources]
    if name is not None:
        return visits[visit_place([one.name for one in visits], name)]
    dated = [one for one in visits if one.started_at is not None]
    return (dated or visits)[-1]


def cable_of(found: DeviceTraces) -> float:
    """Resistance [ohm] of the cable before the string's place of tracing, by the layout."""
    string = found.string
    if string is None:
        return 0.0
    return string_cable_resistance(string) / string.strings_in_parallel
