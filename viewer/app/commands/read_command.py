"""`curvewright read`: files of any layout to traces, by a reading recipe or by looking."""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from viewer.app.commands.argument_types import number
from viewer.app.commands.complaints import complain, sentence
from viewer.app.commands.progress_line import ProgressLine
from viewer.physics.nomenclature import counted
from viewer.reading.many_files import ReadingReport, read_files
from viewer.reading.recipes.recipe import Recipe
from viewer.reading.recipes.recipe_file import load_recipe, save_recipe
from viewer.reading.trace_files import TraceFile, trace_files
from viewer.reports.reading_table import reading_lines
from viewer.reports.table_export import export_table
from viewer.reports.trace_tables import point_table
from viewer.site_data.iv_trace import Trace
from viewer.state.importing.import_files import resolved
from viewer.state.importing.imported_visit import ImportedVisit, folder_problem, write_steps
from viewer.state.importing.log_joining import LogChoice, join_log


def add_arguments(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("files", metavar="FILE_OR_FOLDER", nargs="+", help="files or folders of files to read")
    add("--recipe", metavar="FILE", help="reading recipe (TOML) for all files")
    add("--save-recipe", metavar="FILE", help="write what the first file's reading understood")
    add("--explain", action="store_true", help="say why the files are read as they are")
    add("--into", metavar="FOLDER", help="write the traces and a record of their bytes there")
    add("--points", metavar="FILE", help="write all points as one table (.csv, .xlsx, .parquet)")
    add("--quiet", action="store_true", help="no table and no progress")
    log = parser.add_argument_group("conditions from a separate log")
    log.add_argument("--log", metavar="FILE", help="table of times, irradiance, temperatures")
    log.add_argument(
        "--tolerance",
        type=number(0),
        default=60.0,
        metavar="S",
        help="seconds a reading may lie off",
    )
    log.add_argument(
        "--nearest", action="store_true", help="take the nearest reading, do not interpolate"
    )
    log.add_argument(
        "--clock-offset",
        default="0",
        metavar="S",
        help="seconds to add to the traces' times, or auto to estimate them from the currents",
    )
    log.add_argument("--timezone", metavar="NAME", help="of the times without a UTC offset")
    log.add_argument(
        "--replace", action="store_true", help="also where a trace's file gives a reading"
    )


def run(arguments: argparse.Namespace) -> int:
    try:
        return _run(arguments)
    except (ValueError, OSError) as error:
        for line in sentence(error).split("\n"):
            _say(line)
        return 2


def _run(arguments: argparse.Namespace) -> int:
    recipe = load_recipe(Path(arguments.recipe)) if arguments.recipe else None
    files = trace_files(arguments.files)
    if arguments.into and (problem := folder_problem(Path(arguments.into), resolved(files))):
        raise ValueError(problem)
    report = _read(files, recipe, quiet=arguments.quiet)
    traces = report.traces
    if arguments.log and traces:
        traces = _with_log(traces, arguments)
    if not arguments.quiet:
        for line in reading_lines(report, traces, explain=arguments.explain):
            print(line)
    for bad in report.failures:
        _say(bad.problem)
    if not traces:
        tried = counted(len(report.readings), "file")
        _say(f"no file could be read as a trace: {tried} tried")
        return 2
    _write(arguments, report, traces)
    return 1 if report.failures else 0


def _read(files: Sequence[TraceFile], recipe: Recipe | None, *, quiet: bool) -> ReadingReport:
    report = ReadingReport()
    with ProgressLine(sys.stderr, enabled=not quiet) as progress:
        for step in read_files(files, recipe):
            report.take(step)
            progress.show("reading", step.done, step.total)
    return report


def _with_log(traces: Sequence[Trace], arguments: argparse.Namespace) -> tuple[Trace, ...]:
    written = arguments.clock_offset
    choice = LogChoice(
        Path(arguments.log),
        arguments.tolerance,
        arguments.nearest,
        None if written == "auto" else _seconds(written),
        arguments.timezone,
        arguments.replace,
    )
    joined = join_log(traces, choice)
    for line in joined.said:
        _say(line)
    return joined.traces


def _seconds(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise ValueError(f"--clock-offset is '{text}'; write seconds or auto.") from None


def _write(arguments: argparse.Namespace, report: ReadingReport, traces: Sequence[Trace]) -> None:
    if arguments.save_recipe:
        recipes = [one.recipe for _, one in report.readings.values() if one.recipe and one.traces]
        if not recipes:
            raise ValueError("there is no recipe to save: the files are in the plain format.")
        save_recipe(recipes[0], Path(arguments.save_recipe))
    if arguments.into:
        _write_visit(traces, ImportedVisit(Path(arguments.into)), quiet=arguments.quiet)
    if arguments.points:
        export_table(point_table(traces), Path(arguments.points))


def _write_visit(traces: Sequence[Trace], visit: ImportedVisit, *, quiet: bool) -> None:
    """With the record of where each trace came from; what is there already is not written again."""
    with ProgressLine(sys.stderr, enabled=not quiet) as line:
        for progress in write_steps(visit, traces, layout=None):
            line.show(progress.text, progress.done, progress.total or 0)
    if visit.already_there and not quiet:
        _say(f"traces in {visit.folder} already: {visit.already_there:,} of {len(traces):,}")


def _say(sentence: str) -> None:
    complain("read", sentence)
