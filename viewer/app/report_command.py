"""`curvewright report`: a document by purpose, as PDF and as workbook."""

import argparse
import sys
from datetime import date
from pathlib import Path

from viewer.app.progress_line import ProgressLine
from viewer.app.site_results import complain, gather
from viewer.physics.uncertainty import InputUncertainties
from viewer.site_data.report_details_file import EnteredDetails, read_details
from viewer.state.report_making import KINDS, ReportOrder, write_report


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("source", metavar="FOLDER_OR_SITE_FILE", help="visit folder or site file")
    kinds = "; ".join(f"{name}: {words}" for name, words in KINDS.items())
    parser.add_argument("--kind", required=True, choices=KINDS, help=kinds)
    parser.add_argument(
        "--out",
        type=Path,
        required=True,
        action="append",
        metavar="FILE",
        help="file to write, .pdf or .xlsx; repeat it for both",
    )
    parser.add_argument(
        "--details",
        type=Path,
        metavar="FILE",
        help="TOML with client, tester, instruments, texts (see resources/templates/report.toml)",
    )
    parser.add_argument(
        "--date", type=date.fromisoformat, default=None, help="printed date, default today"
    )
    parser.add_argument(
        "--warranty-start", type=date.fromisoformat, help="where site.toml gives none"
    )
    parser.add_argument("--quiet", action="store_true", help="no progress")


def run(arguments: argparse.Namespace) -> int:
    try:
        entered = read_details(arguments.details) if arguments.details else EnteredDetails({}, ())
        site = gather(Path(arguments.source), "report", quiet=arguments.quiet)
        order = ReportOrder(
            arguments.kind,
            site.layout,
            site.results,
            entered,
            arguments.date or date.today(),
            InputUncertainties(),
            arguments.warranty_start,
        )
        with ProgressLine(sys.stderr, enabled=not arguments.quiet) as line:
            for progress in write_report(order, arguments.out):
                line.show(progress.text, progress.done, progress.total or 0)
    except ValueError as error:
        complain("report", str(error))
        return 2
    except OSError as error:
        complain("report", f"{error.filename}: {error.strerror}")
        return 2
    for file in arguments.out:
        print(file)
    return 1 if site.unreadable else 0
