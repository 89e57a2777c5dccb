"""The `curvewright` command: sub-commands by module name, loaded only when asked for.

Without a sub-command the window opens, on the folder or site file that was named if any.
"""

import argparse
import importlib
import os
import sys
from collections.abc import Sequence
from typing import NoReturn, Protocol, cast

from viewer import __version__
from viewer.app.standard_streams import flush, give_up, write_what_can_be_written
from viewer.state.opening.process_environment import (
    calculate_in_one_thread,
    end_started_processes,
)

COMMANDS: dict[str, tuple[str, str]] = {
    "analyze": (
        "viewer.app.commands.analyze_command",
        "compare every trace of a visit with its datasheet",
    ),
    "read": (
        "viewer.app.commands.read_command",
        "files of any layout to traces, by a reading recipe",
    ),
    "limits": (
        "viewer.app.commands.limits_command",
        "highest Voc and Isc against ratings, before a visit",
    ),
    "hours": (
        "viewer.app.commands.hours_command",
        "when the sun at the site is good enough to trace",
    ),
    "sheet": ("viewer.app.commands.sheet_command", "a test sheet with the readings to expect"),
    "import": ("viewer.app.commands.import_command", "bring a visit folder into a site file"),
    "site": (
        "viewer.app.commands.site_command",
        "what a site file holds; notes, repairs, undo, check",
    ),
    "trend": (
        "viewer.app.commands.trend_command",
        "degradation over the visits; visit against visit",
    ),
    "sample": (
        "viewer.app.commands.sample_command",
        "which strings to trace this year, in walking order",
    ),
    "warranty": (
        "viewer.app.commands.warranty_command",
        "measured power against the manufacturer's warranty",
    ),
    "expect": (
        "viewer.app.commands.expect_command",
        "what a string should read now; missing modules",
    ),
    "translate": (
        "viewer.app.commands.translate_command",
        "a string's curve at other conditions, between its own",
    ),
    "parameters": (
        "viewer.app.commands.parameters_command",
        "the five single-diode parameters of a string's sweeps",
    ),
    "datasheet": (
        "viewer.app.commands.datasheet_command",
        "a module's datasheet out of its own traces",
    ),
    "picture": ("viewer.app.commands.picture_command", "pictures of faults kept with a site"),
    "report": ("viewer.app.commands.report_command", "a document by purpose, as PDF and workbook"),
    "verify": (
        "viewer.app.commands.verify_command",
        "whether an evidence pack is still as it was made",
    ),
    "mismatch": (
        "viewer.app.commands.mismatch_command",
        "what combiners lose by unequal strings; repairs",
    ),
    "worst": (
        "viewer.app.commands.worst_command",
        "the strings that cost most: W, kWh and money a year",
    ),
    "simulate": (
        "viewer.app.commands.simulate_command",
        "a fault of your choice as a visit folder",
    ),
}
"""Sub-command to the module that holds it and one line of help."""

WINDOW_MODULE = "viewer.app.window.window_start"


class CommandModule(Protocol):
    """What a module named in COMMANDS offers."""

    def add_arguments(self, parser: argparse.ArgumentParser) -> None: ...

    def run(self, arguments: argparse.Namespace) -> int: ...


class WindowModule(Protocol):
    def start_window(self, folder: str | None) -> int: ...


def _help_text() -> str:
    lines = [f"  {name:<10} {line}" for name, (_, line) in sorted(COMMANDS.items())]
    return "\n".join(
        [
            "usage: curvewright [FOLDER_OR_SITE_FILE]      open the window",
            "       curvewright COMMAND ...                work without a window",
            "",
            "Compares I-V curves measured on PV strings with what the module datasheet",
            "predicts at the same irradiance and cell temperature.",
            "",
            "commands:",
            *lines,
            "",
            "Commands compute with built-in uncertainties and thresholds, not with the window's",
            "settings: --settings FILE takes those that the window exported. Results say which.",
            "",
            "curvewright COMMAND --help tells more; --version prints the version.",
        ]
    )


class PlainParser(argparse.ArgumentParser):
    """Says in one sentence what is wrong, without the usage of all options before it."""

    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{self.prog}: {message.rstrip('.')}; see {self.prog} --help\n")


def _run_command(name: str, rest: Sequence[str]) -> int:
    module_name, line = COMMANDS[name]
    module = cast(CommandModule, importlib.import_module(module_name))
    parser = PlainParser(prog=f"curvewright {name}", description=line)
    module.add_arguments(parser)
    return module.run(parser.parse_args(rest))


def _open_window(words: Sequence[str]) -> int:
    if len(words) > 1:
        print(
            f"curvewright: one folder or site file at a time, not {len(words)}; "
            "curvewright --help lists the commands",
            file=sys.stderr,
        )
        return 2
    if words and words[0].startswith("-"):
        print(
            f"curvewright: there is no option {words[0]}; see curvewright --help", file=sys.stderr
        )
        return 2
    if words and not os.path.exists(words[0]):
        print(
            f"curvewright: {words[0]} is neither a command nor a folder or file that exists; "
            "curvewright --help lists the commands",
            file=sys.stderr,
        )
        return 2
    window = cast(WindowModule, importlib.import_module(WINDOW_MODULE))
    return window.start_window(words[0] if words else None)


def run(words: Sequence[str] | None = None) -> int:
    """Do what the words of the command line say; returns the exit code."""
    given = list(sys.argv[1:] if words is None else words)
    write_what_can_be_written()
    try:
        code = _done(given)
        flush()
    except KeyboardInterrupt:
        print("curvewright: stopped", file=sys.stderr)
        end_started_processes()
        return 130
    except BrokenPipeError:  # the reader of our output (head, less) has had enough
        give_up()
        return 0
    except OSError as error:
        what = error.filename or "the output could not be written"
        print(f"curvewright: {what}: {error.strerror or error}", file=sys.stderr)
        give_up()
        return 2
    return code


def _done(given: Sequence[str]) -> int:
    if given and given[0] in ("-h", "--help"):
        print(_help_text())
        return 0
    if given and given[0] == "--version":
        print(f"curvewright {__version__}")
        return 0
    calculate_in_one_thread()
    if given and given[0] in COMMANDS:
        return _run_command(given[0], given[1:])
    return _open_window(given)
