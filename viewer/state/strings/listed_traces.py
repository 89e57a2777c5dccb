"""The strings of a site file before anything is computed: its own list with stored key numbers."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TypeVar

import numpy as np

from viewer.site_data.iv_trace import Trace
from viewer.site_data.site_file.annotations import Repair, read_repairs
from viewer.site_data.site_file.baseline import baseline_visit
from viewer.site_data.site_file.connection import open_site_file
from viewer.site_data.site_file.layout_rows import read_layout
from viewer.site_data.site_file.listing import ListedTrace, list_traces
from viewer.site_data.site_file.record_columns import time_value
from viewer.site_data.site_file.stored_visits import told_apart
from viewer.site_data.site_layout import SiteLayout
from viewer.state.program.settings import Settings
from viewer.state.strings.standing import Standing, standing_by_power
from viewer.state.strings.string_rows import StringRow, made_row, needed_cause
from viewer.state.visits import Visit, visits_of

NOTHING = np.empty(0)
Found = TypeVar("Found")


@dataclass(frozen=True, eq=False)
class Listing:
    """Traces by name with their visits; `rows` as the usual settings judge them, by source."""

    traces: tuple[ListedTrace, ...]
    rows: dict[str, StringRow]
    visits: tuple[Visit, ...]

    def rows_by(self, settings: Settings) -> dict[str, StringRow]:
        """The rows by other thresholds, made anew only where these differ."""
        if settings.verdict_limits == Settings().verdict_limits:
            return dict(self.rows)
        return {one.source: listed_row(one, settings) for one in self.traces}

    def in_order(self, found: dict[str, Found]) -> dict[str, Found]:
        """The same, by source, in the order of the list; what is not listed comes last."""
        return {one: found[one] for one in self.rows if one in found} | found


@dataclass(frozen=True, eq=False)
class StoredListing:
    """What a site file shows at once."""

    layout: SiteLayout
    listing: Listing
    repairs: tuple[Repair, ...]
    baseline_start: datetime | None


def stored_listing(path: Path) -> StoredListing:
    """Read it and close the file. Raises SiteFileError with one sentence."""
    with open_site_file(path) as site_file, site_file.reading():
        layout = read_layout(site_file)
        listed = list_traces(site_file)
        repairs = tuple(read_repairs(site_file))
        baseline = baseline_visit(site_file)
    seen: Counter[str] = Counter()
    traces = []
    for one in listed:
        seen[one.source] += 1
        if seen[one.source] > 1:
            at = time_value(one.measured_at)
            one = one._replace(source=told_apart(one.source, at, seen[one.source]))
        traces.append(one)
    listing = made_listing(traces)
    return StoredListing(layout, listing, repairs, baseline.started_at if baseline else None)


def made_listing(traces: Sequence[ListedTrace]) -> Listing:
    """Rows and visits of traces whose sources differ."""
    usual = Settings()
    rows = {one.source: listed_row(one, usual) for one in traces}
    return Listing(tuple(traces), rows, visits_of([stand_in(one) for one in traces]))


def listed_row(one: ListedTrace, settings: Settings) -> StringRow:
    """The row of a trace that has not been compared yet in this window: by its stored power ratio
    alone, as checks and shape follow with the comparison."""
    ratio = None if math.isnan(one.power_ratio) else one.power_ratio
    if ratio is None:
        how = Standing("unknown", "not compared yet")
    else:
        how = standing_by_power(ratio, settings)
    moment, cause = one.measured_at or "", needed_cause(one.first_cause)
    return made_row(one.source, one.combiner, one.string, moment, ratio, how, cause)


def stand_in(one: ListedTrace) -> Trace:
    """A trace without points, for grouping into visits."""
    return Trace(
        one.source, NOTHING, NOTHING, one.combiner, one.string, time_value(one.measured_at)
    )
