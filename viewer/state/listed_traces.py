"""The strings of a site file before anything is computed: its own list with stored key numbers."""

import math
from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np

from viewer.site_data.iv_trace import Trace
from viewer.site_data.site_file.annotations import Repair, read_repairs
from viewer.site_data.site_file.baseline import baseline_visit
from viewer.site_data.site_file.connection import open_site_file
from viewer.site_data.site_file.layout_rows import read_layout
from viewer.site_data.site_file.listing import ListedTrace, list_traces
from viewer.site_data.site_file.stored_visits import told_apart
from viewer.site_data.site_layout import SiteLayout
from viewer.state.settings import Settings
from viewer.state.standing import Standing
from viewer.state.string_rows import StringRow

NOTHING = np.empty(0)


@dataclass(frozen=True, eq=False)
class StoredListing:
    """What a site file shows at once."""

    layout: SiteLayout
    traces: tuple[ListedTrace, ...]
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
            one = one._replace(source=told_apart(one.source, moment_of(one), seen[one.source]))
        traces.append(one)
    return StoredListing(layout, tuple(traces), repairs, baseline.started_at if baseline else None)


def moment_of(one: ListedTrace) -> datetime | None:
    return datetime.fromisoformat(one.measured_at) if one.measured_at else None


def listed_row(one: ListedTrace, settings: Settings) -> StringRow:
    """The row of a trace that has not been compared yet in this window."""
    ratio = None if math.isnan(one.power_ratio) else one.power_ratio
    cause = (one.first_cause or "none").replace("_", " ")
    cause = "" if cause == "none" else cause
    day = (one.measured_at or "")[:10]
    how = stored_standing(ratio, settings)
    combiner, string = one.combiner or "", one.string or one.source
    words = " ".join((combiner, string, day, how.words, cause, one.source)).lower()
    return StringRow(one.source, combiner, string, day, ratio, how, cause, words)


def stored_standing(ratio: float | None, settings: Settings) -> Standing:
    """By the stored power ratio alone: checks and shape follow with the comparison."""
    if ratio is None:
        return Standing("unknown", "not compared yet")
    lost = f"{100 * (1 - ratio):.1f} %"
    if ratio < settings.short_below:
        return Standing("short", f"short by {lost}")
    if ratio < settings.watch_below:
        return Standing("watch", f"watch, −{lost}")
    return Standing("expected", "as expected")


def stand_in(one: ListedTrace) -> Trace:
    """A trace without points, for grouping into visits."""
    return Trace(one.source, NOTHING, NOTHING, one.combiner, one.string, moment_of(one))
