"""`curvewright import`: a visit folder into a site file."""

import argparse
import sys
from pathlib import Path

from viewer.app.commands.complaints import complain
from viewer.app.commands.progress_line import ProgressLine
from viewer.physics.nomenclature import counted
from viewer.site_data.site_file.connection import SUFFIX
from viewer.site_data.site_file.importing import ImportOutcome
from viewer.state.keeping.carrying_over import Carried
from viewer.state.keeping.site_import import import_steps


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", metavar="FOLDER", help="visit folder")
    parser.add_argument(
        "site_file", metavar="SITEFILE", help=f"site file (…{SUFFIX}); made when it is not there"
    )
    parser.add_argument("--quiet", action="store_true", help="no summary and no progress")


def run(arguments: argparse.Namespace) -> int:
    site_path = Path(arguments.site_file)
    outcome: ImportOutcome | None = None
    carried = Carried()
    try:
        if site_path.suffix != SUFFIX:
            raise ValueError(f"the site file's name must end in {SUFFIX}, not {site_path.name}")
        with ProgressLine(sys.stderr, enabled=not arguments.quiet) as line:
            for step in import_steps(Path(arguments.folder), site_path):
                for remark in step.remarks:
                    complain("import", remark)
                outcome = step.outcome or outcome
                carried = step.carried or carried
                line.show(step.progress.text, step.progress.done, step.progress.total or 0)
    except ValueError as error:
        complain("import", str(error))
        return 2 if outcome is None else 1
    if outcome is None:
        return 2
    if carried.left:
        complain("import", carried.left_text())
    if not arguments.quiet:
        for sentence in summary(outcome, site_path.name):
            print(sentence)
        if carried.text():
            print(carried.text())
    return 1 if outcome.unread else 0


def summary(outcome: ImportOutcome, name: str) -> list[str]:
    """What was stored, in sentences."""
    lines = [f"{counted(len(outcome.trace_ids), 'trace')} stored in {name}."]
    if outcome.known_before:
        files = counted(outcome.known_before, "file")
        lines.append(f"{files} unchanged since an earlier import: nothing was added.")
    if outcome.replaced:
        lines.append(
            f"{counted(outcome.replaced, 'earlier trace')} of files that have changed since: "
            "kept in the file, no longer shown."
        )
    if outcome.unread:
        lines.append(
            f"{counted(outcome.unread, 'file')} could not be read; the bytes are kept "
            f"and `curvewright analyze {name}` says why."
        )
    return lines + [f"The layout changed: {one}." for one in outcome.layout_changes]
