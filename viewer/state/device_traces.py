"""The traces of one string, read and made ready without the analysis of the whole site."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from viewer.analysis.comparison import AnalysisInputs
from viewer.analysis.device.usable_traces import conditions_of, usable_traces
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

ONE_STRING = 0.1
"""Range over the mean up to which Isc and Voc at the same conditions may be one string's on one day
(judgement): sensors are a few percent wrong."""
USUAL_BETA = -0.003
"""1/K, of Voc, as most datasheets have it; 0.001 more or less moves Voc by 4 % over 40 K."""
USUAL_BY_LIGHT = 0.04
"""Of Voc by the logarithm of irradiance: a diode's thermal voltage of 26 mV over 0.65 V a cell."""


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
    def name(self) -> str:
        """COMBINER/STRING, or the string's name where no combiner is known."""
        return "/".join(part for part in self.place if part)

    @property
    def doubts(self) -> tuple[str, ...]:
        """What speaks against their being traces of one string, a sentence each."""
        if len(self.usable) < 2:
            return ()
        poa, cell = np.array([conditions_of(one) for one in self.usable]).T
        i_sc = np.array([one.measured.values.i_sc for one in self.usable]) / poa
        usual = 1.0 + USUAL_BETA * (cell - 25.0) + USUAL_BY_LIGHT * np.log(poa / 1000.0)
        v_oc = np.array([one.measured.values.v_oc for one in self.usable]) / usual
        ranges = {
            "Isc for its irradiance": np.ptp(i_sc) / i_sc.mean(),
            "Voc for its temperature": np.ptp(v_oc) / v_oc.mean(),
        }
        return tuple(
            f"{what} differs by {100.0 * size:.0f} % between the traces; check that they are of "
            "one string and that their conditions are right"
            for what, size in ranges.items()
            if size > ONE_STRING
        )

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
    """name: COMBINER/STRING, the string's alone where no other bears it, or None where there is
    only one. visit: by its name; None for the newest on which the string was traced, as it may
    have aged between two.

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
    others = {one.place for one in traces} | _places(opened.layout)
    unread = [
        one
        for one in failures(found)
        if (named := path_names(one.source, opened.layout)) == place or named not in others
    ]
    problems = (*(one.problem for one in (*unread, *unusable)), *left_out)
    return DeviceTraces(place, chosen.name, opened.layout, models, tuple(usable), problems)


def _places(layout: SiteLayout) -> set[tuple[str | None, str]]:
    return {(box.name, one.name) for box in layout.combiners for one in box.strings}


def _name(trace: Trace) -> str:
    string = trace.string or trace.source
    return f"{trace.combiner}/{string}" if trace.combiner else string


def _of_string(traces: list[Trace], name: str | None) -> list[Trace]:
    names = list(dict.fromkeys(_name(one) for one in traces))
    if not names:
        raise ValueError("no trace could be read")
    if name is None and len(names) > 1:
        raise ValueError(f"name one string as COMBINER/STRING: {_some(names)}")
    wanted = names[0] if name is None else name
    if wanted not in names:
        alike = [one for one in names if one.endswith(f"/{wanted}")]
        if len(alike) > 1:
            raise ValueError(f"several strings are called {wanted}: {_some(alike)}")
        if not alike:
            near = [one for one in names if one.startswith(f"{wanted.partition('/')[0]}/")]
            raise ValueError(f"there is no trace of {wanted}; traced are {_some(near or names)}")
        (wanted,) = alike
    return [one for one in traces if _name(one) == wanted]


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
