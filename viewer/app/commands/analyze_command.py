"""`curvewright analyze`: every trace of a visit folder or site file against its datasheet."""

import argparse
import sys
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import TextIO

from viewer.analysis.comparison import AnalysisInputs
from viewer.analysis.prediction.standard_conditions import PROCEDURE, SINGLE_CURVE_PROCEDURES
from viewer.analysis.results.trace_result import TraceResult
from viewer.app.commands.complaints import complain
from viewer.app.commands.progress_line import ProgressLine
from viewer.app.commands.site_results import add_settings
from viewer.physics.nomenclature import counted
from viewer.reading.trace_files import natural_key
from viewer.reading.visits.visit_folder import FolderError
from viewer.reports.result_json import json_line
from viewer.reports.result_table import table_lines
from viewer.site_data.iv_trace import Unreadable
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.whole_file import UnwrittenError, drafted
from viewer.state.program.chosen_settings import ChosenSettings, chosen_settings
from viewer.state.visit_opening import open_site

Outcome = TraceResult | Unreadable


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("source", metavar="FOLDER_OR_SITE_FILE", help="visit folder or site file")
    parser.add_argument(
        "--json",
        metavar="FILE",
        help="write JSON Lines, one object a trace, to FILE (- for standard output)",
    )
    parser.add_argument(
        "--procedure",
        type=int,
        choices=SINGLE_CURVE_PROCEDURES,
        help="of IEC 60891, for translation to standard test conditions "
        f"(default: that of the settings, else {PROCEDURE})",
    )
    add_settings(parser)
    parser.add_argument("--quiet", action="store_true", help="no table and no progress")


def run(arguments: argparse.Namespace) -> int:
    try:
        settings = _settings(arguments)
        outcomes, remarks = _collect(Path(arguments.source), settings.inputs, arguments.quiet)
    except (FolderError, SiteFileError, ValueError) as error:
        complain("analyze", str(error))
        return 2
    unreadable = sum(isinstance(outcome, Unreadable) for outcome in outcomes)
    if unreadable < len(outcomes):  # else one line says that nothing could be done
        for remark in remarks:
            complain("analyze", remark)
    if arguments.json == "-":
        _write_lines(sys.stdout, outcomes, settings)
    elif arguments.json:
        problem = _write_json(arguments.json, outcomes, settings)
        if problem:
            complain("analyze", problem)
            return 2
    if not arguments.quiet and arguments.json != "-":
        for line in (*table_lines(outcomes), "", settings.in_words()):
            print(line)
    if unreadable == len(outcomes):
        tried = counted(unreadable, "file")
        complain(
            "analyze", f"no file in {arguments.source} could be read as a trace: {tried} tried"
        )
        return 2
    return 1 if unreadable else 0


def _settings(arguments: argparse.Namespace) -> ChosenSettings:
    settings = chosen_settings(arguments.settings)
    if arguments.procedure is None:
        return settings
    return replace(settings, inputs=replace(settings.inputs, procedure=arguments.procedure))


def _collect(path: Path, inputs: AnalysisInputs, quiet: bool) -> tuple[list[Outcome], list[str]]:
    """Every outcome in order of its source, and the remarks on the site."""
    outcomes: list[Outcome] = []
    remarks: list[str] = []
    with ProgressLine(sys.stderr, enabled=not quiet) as line:
        for progress, arrival in open_site(path, inputs):
            remarks.extend(arrival.remarks)
            outcomes.extend(arrival.results)
            outcomes.extend(arrival.unreadable)
            line.show(progress.text, progress.done, progress.total or 0)
    return sorted(outcomes, key=_order), remarks


def _order(outcome: Outcome) -> tuple[tuple[int, str], ...]:
    source = outcome.source if isinstance(outcome, Unreadable) else outcome.trace.source
    return natural_key(source)


def _write_json(file: str, outcomes: Iterable[Outcome], settings: ChosenSettings) -> str | None:
    """Writes the objects; returns one sentence when the file could not be written."""
    try:
        with drafted(Path(file)) as draft, draft.open("w", encoding="utf-8") as stream:
            _write_lines(stream, outcomes, settings)
    except BrokenPipeError:
        raise
    except UnwrittenError as error:
        return str(error)
    return None


def _write_lines(stream: TextIO, outcomes: Iterable[Outcome], settings: ChosenSettings) -> None:
    for outcome in outcomes:
        stream.write(json_line(outcome, settings.as_data()) + "\n")
