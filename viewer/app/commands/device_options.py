"""What the commands about one string's own traces share: which it is, and its traces."""

import argparse
import sys
from pathlib import Path

from viewer.app.commands import site_results as site
from viewer.app.commands.complaints import complain
from viewer.app.commands.progress_line import ProgressLine
from viewer.state.device_traces import DeviceTraces, device_traces
from viewer.state.program.chosen_settings import ChosenSettings


def add_device(parser: argparse.ArgumentParser) -> None:
    site.add_source(parser)
    parser.add_argument(
        "string",
        nargs="?",
        metavar="COMBINER/STRING",
        help="the string, or the module traced by itself; STRING alone where no other has that "
        "name, nothing where there is only one",
    )
    parser.add_argument("--visit", help="only this one (usual: the newest with the string)")


def gather_device(
    arguments: argparse.Namespace, command: str, settings: ChosenSettings
) -> DeviceTraces:
    """Read the traces and say what is left out. Raises ValueError with one sentence."""
    with ProgressLine(sys.stderr, enabled=not arguments.quiet) as line:
        found = device_traces(
            Path(arguments.source),
            arguments.string,
            arguments.visit,
            settings.inputs,
            lambda done, total: line.show("reading", done, total),
        )
    for sentence in (*found.left_out, *found.doubts):
        complain(command, sentence)
    if not found.usable:
        raise ValueError(
            f"no trace of {found.name} on {found.visit} can be used: each needs "
            "irradiance, temperature and a sweep from short circuit to open circuit"
        )
    return found


def exit_code(found: DeviceTraces) -> int:
    return 1 if found.left_out else 0
