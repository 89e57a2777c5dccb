"""`curvewright parameters`: the five single-diode parameters of a string's sweeps."""

import argparse

from viewer.analysis.device.common_parameters import common_parameters
from viewer.app.commands import site_results as site
from viewer.app.commands.complaints import complain
from viewer.app.commands.device_options import add_device, exit_code, gather_device
from viewer.physics.curve_fit.parameter_fit import ParameterFit, fit_parameters_of_many
from viewer.physics.nomenclature import counted
from viewer.reports.device_tables import (
    condition_lines,
    parameter_data,
    parameter_rows,
    place_words,
)
from viewer.state.device_traces import DeviceTraces

HELD = "Of the whole string or module as traced, at the conditions of its sweep; ± with k = 2."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    add_device(parser)
    parser.add_argument(
        "--together",
        action="store_true",
        help="one set of parameters for all sweeps, which must be repeats at the same conditions; "
        "from five on, noise that lasts through a sweep is told from that of single points",
    )
    site.add_settings(parser)
    site.add_output(parser)


def run(arguments: argparse.Namespace) -> int:
    try:
        settings = site.chosen(arguments)
        found = gather_device(arguments, "parameters", settings)
        named = [_together(found)] if arguments.together else _each(found)
        lines = [*condition_lines(found.usable), "", *parameter_rows(named), "", HELD]
        data = {
            "string": found.name,
            "visit": found.visit,
            "fits": [parameter_data(*one) for one in named],
        }
        site.output(arguments, lines, data, settings)
    except ValueError as error:
        complain("parameters", str(error))
        return 2
    if not any(fit.meaningful for _, fit in named):
        complain("parameters", "no sweep has parameters of a single diode; the table says why")
        return 2
    return exit_code(found)


def _each(found: DeviceTraces) -> list[tuple[str, ParameterFit]]:
    traces = [one.trace for one in found.usable]
    fits = fit_parameters_of_many([(one.voltage, one.current) for one in traces])
    return [(one.source, fit) for one, fit in zip(traces, fits, strict=True)]


def _together(found: DeviceTraces) -> tuple[str, ParameterFit]:
    common = common_parameters(found.usable)
    where = place_words(common.poa_global, common.temperature_cell)
    return f"{counted(len(found.usable), 'trace')} together, {where}", common.fit
