"""All that analysis needs from a site file, read once: the layout and every trace shown now."""

from collections import Counter
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.site_data.site_file.annotations import Repair, read_repairs
from viewer.site_data.site_file.connection import open_site_file
from viewer.site_data.site_file.layout_rows import read_layout
from viewer.site_data.site_file.trace_rows import read_traces, read_unreadable
from viewer.site_data.site_layout import SiteLayout


@dataclass(frozen=True)
class StoredVisits:
    """The content of a site file at one moment; `contents` by source, in order of import."""

    layout: SiteLayout
    contents: dict[str, Trace | Unreadable]
    repairs: tuple[Repair, ...]


def read_stored_visits(path: Path) -> StoredVisits:
    """Read the file and close it again. Raises SiteFileError.

    Where files of the same name came from several folders, the source of the later ones is
    marked with the day, so that each source stands for one trace.
    """
    with open_site_file(path) as site_file, site_file.reading():
        layout = read_layout(site_file)
        traces = [trace for _, trace in read_traces(site_file)]
        unreadable = read_unreadable(site_file)
        repairs = tuple(read_repairs(site_file))
    contents: dict[str, Trace | Unreadable] = {}
    seen: Counter[str] = Counter()
    for trace in traces:
        seen[trace.source] += 1
        source = told_apart(trace.source, trace.measured_at, seen[trace.source])
        contents[source] = trace if source == trace.source else replace(trace, source=source)
    for one in unreadable:
        contents.setdefault(one.source, one)
    return StoredVisits(layout, contents, repairs)


def told_apart(source: str, measured_at: datetime | None, occurrence: int) -> str:
    """The name by which the program knows a trace: the first of a source bears its name alone."""
    if occurrence == 1:
        return source
    day = measured_at.date().isoformat() if measured_at else "no date"
    return f"{source} ({day}, {occurrence})"
