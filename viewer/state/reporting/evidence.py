"""Making an evidence pack, a step at a time: both faces of the program use it."""

import csv
import io
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.nomenclature import counted
from viewer.reports.document.pdf_document import never
from viewer.reports.evidence_pack import RAW, Packed, PackFile, write_pack
from viewer.reports.key_point_csv import headings, rows
from viewer.reports.result_json import json_line
from viewer.site_data.iv_trace import Unreadable
from viewer.site_data.raw_files import raw_files
from viewer.state.program.jobs import Progress
from viewer.state.reporting.printed_pictures import packed_pictures
from viewer.state.reporting.report_making import ReportOrder, write_report


def write_evidence(
    order: ReportOrder,
    source: Path,
    unreadable: Sequence[Unreadable],
    target: Path,
    stopped: Callable[[], bool] = never,
) -> Iterator[Progress]:
    """The pack of a report: PDF and workbook, results as CSV and JSON, pictures, raw files.

    The last progress says in words what the pack is known by. Nothing is left when the
    iteration is given up. Raises ValueError and OSError.
    """
    if target.suffix.lower() != ".zip":
        raise ValueError(f"{target.name}: an evidence pack is a .zip file.")
    with tempfile.TemporaryDirectory(prefix="curvewright-") as scratch:
        documents = [Path(scratch) / name for name in ("report.pdf", "report.xlsx")]
        yield from write_report(order, documents, stopped)
        if stopped():
            return
        made = [PackFile(one.name, one.read_bytes()) for one in documents]
    made += _results(order, unreadable)
    names = dict.fromkeys(
        [*(r.trace.source for r in order.results), *(one.source for one in unreadable)]
    )
    if order.pictures is not None:
        made += packed_pictures(order.pictures)
    files = (*made, *(PackFile(RAW + name, data) for name, data in raw_files(source, tuple(names))))
    steps = write_pack(target, order.layout.name, order.kind, order.printed_on, files)
    for number, step in enumerate(steps, start=1):
        if isinstance(step, Packed):
            count = counted(step.count, "file")
            text = f"{target.name}: {count}, manifest SHA-256 {step.manifest_sha256}"
            yield Progress(len(files), len(files), text)
        else:
            yield Progress(number, len(files), f"packing {target.name}")


def _results(order: ReportOrder, unreadable: Sequence[Unreadable]) -> list[PackFile]:
    outcomes: list[TraceResult | Unreadable] = [*order.results, *unreadable]
    settings = order.settings.as_data()
    lines = "".join(json_line(one, settings) + "\n" for one in outcomes)
    table = io.StringIO(newline="")
    writer = csv.writer(table)
    writer.writerow(headings())
    writer.writerows(rows(order.results))
    return [
        PackFile("results.csv", table.getvalue().encode()),
        PackFile("results.jsonl", lines.encode()),
    ]
