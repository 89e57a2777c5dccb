"""`curvewright translate`: the curve of a string or module at other conditions."""

import argparse
from pathlib import Path

from viewer.analysis.device.other_conditions import AtConditions, between, moved_there
from viewer.analysis.prediction.standard_conditions import SINGLE_CURVE_PROCEDURES, STANDARD
from viewer.app.commands import site_results as site
from viewer.app.commands.argument_types import irradiance, temperature
from viewer.app.commands.complaints import complain
from viewer.app.commands.device_options import add_device, exit_code, gather_device
from viewer.reading.plain.trace_writing import plain_text
from viewer.reports.device_tables import condition_lines, translated_data, translated_lines
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.whole_file import UnwrittenError, write_whole
from viewer.state.device_traces import DeviceTraces

BETWEEN = 3
"""The procedure of IEC 60891 that needs no factors but two or more curves."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    add_device(parser)
    poa, cell = STANDARD
    parser.add_argument(
        "--irradiance", type=irradiance, default=poa, help=f"to go to, W/m² (usual: {poa:.0f})"
    )
    parser.add_argument(
        "--cell-temperature", type=temperature, default=cell, help=f"°C (usual: {cell:.0f})"
    )
    parser.add_argument(
        "--procedure",
        type=int,
        choices=sorted((*SINGLE_CURVE_PROCEDURES, BETWEEN)),
        default=BETWEEN,
        help="of IEC 60891: 3 interpolates between the string's own curves and needs no datasheet; "
        "two reach the conditions on their line, three those around (usual). 1, 2 and 4 move each "
        "curve by itself with factors from the datasheet",
    )
    parser.add_argument(
        "--out",
        metavar="FILE",
        help="write the curve as a new trace file, not into the visit folder; its note says it is "
        "computed",
    )
    site.add_settings(parser)
    site.add_output(parser)


def run(arguments: argparse.Namespace) -> int:
    to = (arguments.irradiance, arguments.cell_temperature)
    try:
        if not to[0] > 0:
            raise ValueError("the irradiance to go to is above 0 W/m²")
        settings = site.chosen(arguments)
        found = gather_device(arguments, "translate", settings)
        uncertainties = settings.uncertainties
        given = (found.usable, found.layout, found.models, to)
        if arguments.procedure == BETWEEN:
            if len(found.usable) < 2:
                raise ValueError(
                    f"{found.name} has one usable trace on {found.visit}, and procedure "
                    "3 needs two or more; --procedure 1, 2 or 4 moves one by its datasheet"
                )
            made = [between(*given, uncertainties)]
        else:
            made = moved_there(*given, arguments.procedure, uncertainties)
        lines = [*condition_lines(found.usable), "", *translated_lines(made, to)]
        if arguments.out is not None:
            _write(Path(arguments.out), Path(arguments.source), made, found, to)
            lines += ["", f"The curve is in {arguments.out}."]
        data = {"string": found.name, "visit": found.visit, **translated_data(made, to)}
        site.output(arguments, lines, data, settings)
    except (ValueError, UnwrittenError) as error:
        complain("translate", str(error))
        return 2
    return exit_code(found)


def _write(
    file: Path,
    source: Path,
    made: list[AtConditions],
    found: DeviceTraces,
    to: tuple[float, float],
) -> None:
    """One curve as a trace, never over another file nor among the traces of `source`.

    Raises ValueError where there are several, or it cannot be written.
    """
    if file.exists():
        raise ValueError(f"{file} exists already; name a new file with --out")
    if source.is_dir() and source.resolve() in file.resolve().parents:
        raise ValueError(
            f"{file} lies in the visit folder, where it would count as a measured trace; name "
            "another place with --out"
        )
    if len(made) != 1:
        raise ValueError(
            f"--out takes one curve, and procedure 1, 2 or 4 gave {len(made)}: one for each trace"
        )
    (one,) = made
    combiner, string = found.place
    note = f"computed, not measured: {one.procedure}; from {', '.join(one.sources)}"
    trace = Trace(
        file.name,
        one.curve.voltage,
        one.curve.current,
        combiner,
        string,
        conditions=MeasuredConditions(poa_global=to[0], temperature_cell=to[1]),
        note=note,
    )
    write_whole(file, plain_text(trace))
