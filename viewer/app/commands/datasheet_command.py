"""`curvewright datasheet`: a module's datasheet and model out of its own traces."""

import argparse
from pathlib import Path

import tomli_w

from viewer.analysis.device.own_datasheet import COEFFICIENTS, MakeUp, own_datasheet
from viewer.app.commands import site_results as site
from viewer.app.commands.argument_types import MOST_MODULES, count, number
from viewer.app.commands.complaints import complain, sentence
from viewer.app.commands.device_options import add_device, exit_code, gather_device
from viewer.reports.device_tables import datasheet_data, datasheet_lines
from viewer.site_data.datasheet import TECHNOLOGIES, Datasheet
from viewer.site_data.site_toml import FILE_NAME, module_data, read_site_toml
from viewer.state.datasheet_entry import add_module
from viewer.state.device_traces import DeviceTraces, cable_of

MOST_CELLS = 2000
MOST_IN_PARALLEL = 100


def add_arguments(parser: argparse.ArgumentParser) -> None:
    add_device(parser)
    parser.add_argument(
        "--key",
        type=_key,
        default="own-curves",
        help="the word by which strings name it (usual: own-curves)",
    )
    known = "usual: as the site's layout says of the string"
    parser.add_argument("--technology", choices=TECHNOLOGIES, help=f"of the cells ({known})")
    parser.add_argument(
        "--cells", type=count(1, MOST_CELLS), help=f"in series in one module ({known})"
    )
    parser.add_argument("--parallel-paths", type=count(1, 10), help="half-cut modules: 2")
    parser.add_argument("--bypass-diodes", type=count(0, 100), help="of one module")
    parser.add_argument(
        "--modules", type=count(1, MOST_MODULES), help=f"in series in the string ({known}, or 1)"
    )
    parser.add_argument(
        "--in-parallel",
        type=count(1, MOST_IN_PARALLEL),
        help="strings traced as one (as the layout says, or 1)",
    )
    for name in COEFFICIENTS:
        parser.add_argument(
            f"--{name.replace('_', '-')}",
            type=number(-2.0, 2.0),
            metavar="PERCENT",
            help="%%/K, in place of what the curves tell",
        )
    parser.add_argument(
        "--into", metavar="FOLDER", help="add the module to the site.toml of this visit folder"
    )
    site.add_settings(parser)
    site.add_output(parser)


def _key(text: str) -> str:
    if not text.strip():
        raise argparse.ArgumentTypeError("a module's key is a word")
    return text.strip()


def run(arguments: argparse.Namespace) -> int:
    try:
        settings = site.chosen(arguments)
        found = gather_device(arguments, "datasheet", settings)
        made = own_datasheet(
            found.usable,
            found.layout,
            found.models,
            _make_up(arguments, found),
            settings.uncertainties,
        )
        table = tomli_w.dumps({"module": {made.datasheet.key: module_data(made.datasheet)}})
        lines = [*datasheet_lines(made, found.usable), "", *table.rstrip().split("\n")]
        if arguments.into:
            lines += ["", _added(Path(arguments.into), made.datasheet)]
        data = {"string": found.name, "visit": found.visit, **datasheet_data(made)}
        site.output(arguments, lines, data, settings)
    except (ValueError, OSError) as error:
        complain("datasheet", sentence(error))
        return 2
    return exit_code(found)


def _make_up(arguments: argparse.Namespace, found: DeviceTraces) -> MakeUp:
    """By the options, else by the layout. Raises ValueError for what neither says."""
    string = found.string
    sheet = found.layout.modules.get(string.module) if string else None
    technology = arguments.technology or (sheet.technology if sheet else None)
    cells = arguments.cells or (sheet.cells_in_series if sheet else None)
    if technology is None or cells is None:
        given = {"--technology": technology, "--cells": cells}
        what = " and ".join(name for name, value in given.items() if value is None)
        raise ValueError(f"site.toml does not say which module {found.name} has; give {what}")
    diodes = arguments.bypass_diodes
    if diodes is None:
        diodes = sheet.bypass_diodes if sheet else MakeUp.bypass_diodes
    return MakeUp(
        arguments.key,
        technology,
        cells,
        arguments.parallel_paths or (sheet.parallel_paths if sheet else 1),
        diodes,
        arguments.modules or (string.modules_in_series if string else 1),
        arguments.in_parallel or (string.strings_in_parallel if string else 1),
        cable_of(found),
        {
            name: getattr(arguments, name)
            for name in COEFFICIENTS
            if getattr(arguments, name) is not None
        },
    )


def _added(folder: Path, datasheet: Datasheet) -> str:
    """Raises ValueError or OSError."""
    if not folder.is_dir():
        raise ValueError(f"there is no folder {folder}")
    file = folder / FILE_NAME
    layout = read_site_toml(file).layout if file.is_file() else None
    return add_module(folder, datasheet, layout)
