"""`curvewright report`: a document by purpose, as PDF, as workbook and as evidence pack."""

import argparse
import sys
from datetime import date
from pathlib import Path

from viewer.app.commands.argument_types import day
from viewer.app.commands.complaints import complain, sentence
from viewer.app.commands.progress_line import ProgressLine
from viewer.app.commands.site_results import SiteResults, add_settings, chosen, gather
from viewer.site_data.report_details_file import read_details
from viewer.state.keeping.mark_store import store_for
from viewer.state.keeping.picture_store import pictures_at
from viewer.state.keeping.report_texts import stored_details
from viewer.state.keeping.settled_store import stored_settled
from viewer.state.reporting.evidence import write_evidence
from viewer.state.reporting.report_making import KINDS, ReportOrder, write_report
from viewer.state.reporting.reported_visit import Baseline, check_visit
from viewer.state.years.kept_choices import stored_choices


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("source", metavar="FOLDER_OR_SITE_FILE", help="visit folder or site file")
    kinds = "; ".join(f"{name}: {words}" for name, words in KINDS.items())
    parser.add_argument("--kind", required=True, choices=KINDS, help=kinds)
    parser.add_argument(
        "--out",
        type=Path,
        default=[],
        action="append",
        metavar="FILE",
        help="file to write, .pdf or .xlsx; repeat it for both",
    )
    parser.add_argument(
        "--pack",
        type=Path,
        metavar="FILE",
        help="evidence pack to write, .zip: the document, raw files, results, checksums",
    )
    parser.add_argument(
        "--details",
        type=Path,
        metavar="FILE",
        help="TOML with client, tester, instruments, texts (see resources/templates/report.toml); "
        "without it those kept with the site are printed",
    )
    parser.add_argument("--date", type=day, default=None, help="printed date, default today")
    parser.add_argument("--warranty-start", type=day, help="where site.toml gives none")
    parser.add_argument(
        "--visit",
        metavar="VISIT",
        help="the visit it is about, usually the newest; later ones "
        "are left out of rates and warranty checks",
    )
    parser.add_argument(
        "--baseline", metavar="VISIT", help="in place of the baseline kept with the site"
    )
    add_settings(parser)
    parser.add_argument("--quiet", action="store_true", help="no progress")


def run(arguments: argparse.Namespace) -> int:
    if not arguments.out and arguments.pack is None:
        complain("report", "name a file to write with --out or --pack")
        return 2
    try:
        order, site = _order(arguments)
        with ProgressLine(sys.stderr, enabled=not arguments.quiet) as line:
            for progress in write_report(order, arguments.out):
                line.show(progress.text, progress.done, progress.total or 0)
            known_by = _write_pack(arguments, order, site, line)
    except (ValueError, OSError) as error:
        complain("report", sentence(error))
        return 2
    for file in arguments.out:
        print(file)
    if known_by:
        print(known_by)
    return 1 if site.unreadable else 0


def _order(arguments: argparse.Namespace) -> tuple[ReportOrder, SiteResults]:
    source = Path(arguments.source)
    given = read_details(arguments.details) if arguments.details else None
    settings = chosen(arguments)
    kept = stored_choices(source)
    site = gather(source, "report", quiet=arguments.quiet, settings=settings)
    if not site.results:
        raise ValueError(f"no trace of {source} could be read, so that there is nothing to report")
    for name in (arguments.visit, arguments.baseline):
        if name is not None:
            check_visit(site.results, name)
    order = ReportOrder(
        arguments.kind,
        site.layout,
        site.results,
        given or stored_details(source),
        arguments.date or date.today(),
        settings.uncertainties,
        arguments.warranty_start,
        site.repairs,
        tuple(store_for(source).read()),
        kept.terms,
        pictures_at(source),
        arguments.visit,
        Baseline(arguments.baseline or kept.baseline, site.baseline_start),
        settings,
        tuple(stored_settled(source)),
    )
    return order, site


def _write_pack(
    arguments: argparse.Namespace, order: ReportOrder, site: SiteResults, line: ProgressLine
) -> str:
    """Writes the pack if one is asked for; what it is known by."""
    known_by = ""
    if arguments.pack is not None:
        source = Path(arguments.source)
        for progress in write_evidence(order, source, site.unreadable, arguments.pack):
            line.show(progress.text, progress.done, progress.total or 0)
            known_by = progress.text
    return known_by
