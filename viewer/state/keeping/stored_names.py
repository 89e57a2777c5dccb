"""By what names a site file shows the traces and visits of a folder that was imported into it."""

from collections.abc import Sequence

from viewer.site_data.iv_trace import Trace
from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.plot_marks import trace_numbers
from viewer.site_data.visit_grouping import group_visits


def stored_names(site_file: SiteFile, traces: Sequence[Trace]) -> dict[str, str]:
    """By the source of a trace in the folder, the name under which the site file shows it.

    A trace is known by the bytes of its file and, in a file of several, by its part.
    """
    shown = {number: name for name, number in trace_numbers(site_file).items()}
    by_source: dict[tuple[str | None, str], int] = {}
    by_part: dict[tuple[str | None, str], int] = {}
    with site_file.reading() as connection:
        rows = connection.execute("SELECT id, source, file_sha256 FROM current_traces ORDER BY id")
        for number, source, digest in rows:
            by_source.setdefault((digest, source), number)
            if digest is not None:
                by_part.setdefault((digest, source.partition("#")[2]), number)
    found: dict[str, str] = {}
    for one in traces:
        part = one.source.partition("#")[2]
        number = by_source.get((one.sha256, one.source), by_part.get((one.sha256, part)))
        if number is not None:
            found[one.source] = shown[number]
    return found


def visit_names(
    site_file: SiteFile, traces: Sequence[Trace], names: dict[str, str]
) -> dict[str, str]:
    """By the name that the folder gives a visit, the name of the same visit in the site file."""
    numbers = trace_numbers(site_file)
    with site_file.reading() as connection:
        rows = connection.execute(
            "SELECT traces.id, visits.name FROM current_traces AS traces "
            "JOIN visits ON visits.id = visit_id"
        )
        visit_of = dict(rows.fetchall())
    found: dict[str, str] = {}
    for group in group_visits(traces):
        for member in group.members:
            name = names.get(traces[member].source)
            if name is not None:
                found[group.name] = visit_of[numbers[name]]
                break
    return found
