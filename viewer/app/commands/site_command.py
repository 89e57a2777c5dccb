"""`curvewright site`: what a site file holds, and what people add to it."""

import argparse
import sys
from collections.abc import Callable
from pathlib import Path

from viewer.analysis.results.trace_result import CAUSES
from viewer.app.commands import site_results as site
from viewer.app.commands.argument_types import read_day, whole
from viewer.app.commands.complaints import complain
from viewer.app.commands.progress_line import ProgressLine
from viewer.physics.nomenclature import counted
from viewer.reports.plain_table import aligned
from viewer.site_data.site_file.annotation_listing import list_annotations
from viewer.site_data.site_file.annotations import (
    About,
    Repair,
    add_finding,
    add_module,
    add_note,
    add_repair,
    close_finding,
    string_id,
)
from viewer.site_data.site_file.baseline import visit_named
from viewer.site_data.site_file.connection import SiteFile, open_site_file
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.journal import operations
from viewer.site_data.site_file.layout_rows import read_layout
from viewer.site_data.site_file.listing import list_visits
from viewer.site_data.site_file.restoring import restore_files
from viewer.state.keeping.carrying_back import carry_back
from viewer.state.keeping.site_import import making_up_steps
from viewer.state.keeping.site_steps import do_again, take_back
from viewer.state.years.kept_choices import choose_baseline


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("site_file", metavar="SITEFILE", help="site file made by import")
    actions = parser.add_subparsers(dest="action", metavar="ACTION", required=True)
    actions.add_parser("show", help="visits, findings, repairs, notes and pictures")
    actions.add_parser("check", help="check the whole file for damage")
    note = actions.add_parser("note", help="add a note")
    _add_about(note)
    note.add_argument("text", metavar="TEXT")
    finding = actions.add_parser("finding", help="add a finding, open until closed")
    _add_about(finding, visit=False)
    finding.add_argument("--cause", choices=CAUSES)
    finding.add_argument("text", metavar="TEXT")
    close = actions.add_parser("close", help="close a finding")
    close.add_argument("number", type=whole, metavar="NUMBER")
    repair = actions.add_parser("repair", help="say what was mended, so that trend knows")
    repair.add_argument("string", metavar="COMBINER/STRING")
    repair.add_argument("date", metavar="DATE", help="YYYY-MM-DD")
    repair.add_argument("text", metavar="TEXT")
    repair.add_argument("--finding", type=whole, metavar="NUMBER", help="the finding it answers")
    module = actions.add_parser("module", help="say which module sits where")
    module.add_argument("serial", metavar="SERIAL")
    module.add_argument("string", metavar="COMBINER/STRING")
    module.add_argument("position", type=whole, help="counted from the positive end")
    baseline = actions.add_parser("baseline", help="make a visit the baseline")
    baseline.add_argument("visit", metavar="VISIT")
    actions.add_parser("undo", help="take back the last step")
    actions.add_parser("redo", help="do again what was taken back")
    actions.add_parser("journal", help="every step, oldest first")
    files = actions.add_parser(
        "files",
        help="write the imported files out again, byte for byte, and what is kept beside them",
    )
    files.add_argument("folder", metavar="FOLDER", help="a new folder")


def _add_about(parser: argparse.ArgumentParser, visit: bool = True) -> None:
    parser.add_argument("--string", metavar="COMBINER/STRING", help="what it is about")
    if visit:
        parser.add_argument("--visit", metavar="VISIT", help="the visit it is about")


def run(arguments: argparse.Namespace) -> int:
    try:
        with open_site_file(Path(arguments.site_file)) as site_file:
            return _ACTIONS[arguments.action](site_file, arguments)
    except ValueError as error:
        complain("site", str(error))
        return 2


def _show(site_file: SiteFile, arguments: argparse.Namespace) -> int:
    layout = read_layout(site_file)
    boxes = counted(len(layout.combiners), "combiner")
    strings = sum(len(box.strings) for box in layout.combiners)
    print(f"{layout.name}: {boxes}, {counted(strings, 'string')}.")
    visits = [
        [
            visit.name,
            visit.started_at.date().isoformat() if visit.started_at else "–",
            str(visit.trace_count),
            "baseline" if visit.is_baseline else "",
        ]
        for visit in list_visits(site_file)
    ]
    for line in aligned(["Visit", "From", "Traces", ""], visits, {"Traces"}):
        print(line)
    for one in list_annotations(site_file):
        tail = f" [{one.state}]" if one.state else ""
        by = f", {one.author}" if one.author else ""
        print(f"{one.kind} {one.number}, {one.when[:10]}{by}, {one.about}: {one.text}{tail}")
    return 0


def _check(site_file: SiteFile, arguments: argparse.Namespace) -> int:
    faults = site_file.faults()
    for fault in faults:
        complain("site", f"{site_file.path.name}: {fault}")
    if not faults:
        print(f"{site_file.path.name} is whole.")
    return 1 if faults else 0


def _about(site_file: SiteFile, arguments: argparse.Namespace) -> About:
    visit = getattr(arguments, "visit", None)
    return About(
        string_id=None if arguments.string is None else _string(site_file, arguments.string),
        visit_id=None if visit is None else visit_named(site_file, visit).id,
    )


def _string(site_file: SiteFile, text: str) -> int:
    return string_id(site_file, *site.place(text, read_layout(site_file)))


def _text(arguments: argparse.Namespace) -> str:
    """What was entered. Raises ValueError when that is nothing."""
    if not arguments.text.strip():
        raise ValueError(f"the text of the {arguments.action} is empty")
    return str(arguments.text)


def _note(site_file: SiteFile, arguments: argparse.Namespace) -> int:
    number = add_note(site_file, _about(site_file, arguments), _text(arguments))
    print(f"Note {number} stored.")
    return 0


def _finding(site_file: SiteFile, arguments: argparse.Namespace) -> int:
    about = _about(site_file, arguments)
    number = add_finding(site_file, about, _text(arguments), arguments.cause)
    print(f"Finding {number} stored.")
    return 0


def _close(site_file: SiteFile, arguments: argparse.Namespace) -> int:
    close_finding(site_file, arguments.number)
    print(f"Finding {arguments.number} closed.")
    return 0


def _repair(site_file: SiteFile, arguments: argparse.Namespace) -> int:
    where = site.place(arguments.string, read_layout(site_file))
    repair = Repair(*where, read_day(arguments.date), _text(arguments))
    print(f"Repair {add_repair(site_file, repair, arguments.finding)} stored.")
    return 0


def _module(site_file: SiteFile, arguments: argparse.Namespace) -> int:
    if not arguments.serial.strip():
        raise ValueError("the serial number of the module is empty")
    where = site.place(arguments.string, read_layout(site_file))
    add_module(site_file, arguments.serial, *where, arguments.position)
    print(f"Module {arguments.serial} stored.")
    return 0


def _baseline(site_file: SiteFile, arguments: argparse.Namespace) -> int:
    choose_baseline(site_file, arguments.visit)
    print(f"{arguments.visit} is the baseline.")
    return 0


def _undo(site_file: SiteFile, arguments: argparse.Namespace) -> int:
    return _turned(site_file, take_back(site_file))


def _redo(site_file: SiteFile, arguments: argparse.Namespace) -> int:
    return _turned(site_file, do_again(site_file))


def _turned(site_file: SiteFile, said: str) -> int:
    """Key numbers of another layout are none: they are computed anew."""
    print(said)
    with ProgressLine(sys.stderr) as line:
        for step in making_up_steps(site_file.path):
            line.show(step.progress.text, step.progress.done, step.progress.total or 0)
    return 0


def _journal(site_file: SiteFile, arguments: argparse.Namespace) -> int:
    rows = [[str(one.id), one.made_at, one.state, one.label] for one in operations(site_file)]
    for line in aligned(["No", "When (UTC)", "State", "Step"], rows, {"No"}):
        print(line)
    return 0


def _files(site_file: SiteFile, arguments: argparse.Namespace) -> int:
    folder = Path(arguments.folder)
    count = sum(1 for _ in restore_files(site_file, folder))
    try:
        carried = carry_back(site_file, folder)
    except OSError as error:
        raise SiteFileError(
            f"{error.filename}: it could not be written: {error.strerror}"
        ) from None
    print(f"{counted(count, 'file')} written to {arguments.folder}.")
    if carried.text():
        print(carried.text())
    if carried.left:
        complain("site", carried.left_text())
    return 0


_ACTIONS: dict[str, Callable[[SiteFile, argparse.Namespace], int]] = {
    "show": _show,
    "check": _check,
    "note": _note,
    "finding": _finding,
    "close": _close,
    "repair": _repair,
    "module": _module,
    "baseline": _baseline,
    "undo": _undo,
    "redo": _redo,
    "journal": _journal,
    "files": _files,
}
