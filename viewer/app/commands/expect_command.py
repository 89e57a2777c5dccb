"""`curvewright expect`: what a string should read now, and what a measured Voc says."""

import argparse
import json
from dataclasses import asdict

from viewer.analysis.before_visit.at_the_string import (
    Expectation,
    VoltageDeficit,
    expect_string,
    expected_within,
    read_voltage_deficit,
)
from viewer.analysis.prediction.site_models import fit_datasheet
from viewer.app.commands.argument_types import (
    MOST_MODULES,
    MOST_VOLTS,
    count,
    irradiance,
    number,
    temperature,
)
from viewer.app.commands.complaints import complain
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.nomenclature import KEY_POINTS
from viewer.physics.single_diode import curve
from viewer.reading.visits.open_layout import LayoutError, open_layout
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.module_library import UnknownModuleError, module_named
from viewer.site_data.site_layout import StringLayout


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "source",
        nargs="?",
        metavar="FOLDER",
        help="folder with a site.toml, or site file (or use --module)",
    )
    parser.add_argument("combiner", nargs="?", metavar="COMBINER")
    parser.add_argument("string", nargs="?", metavar="STRING")
    parser.add_argument("--module", help="name in pvlib's CEC list, instead of a site's string")
    parser.add_argument(
        "--modules", type=count(1, MOST_MODULES), default=1, help="modules in series with --module"
    )
    parser.add_argument("--irradiance", type=irradiance, required=True, help="W/m² in the plane")
    parser.add_argument("--module-temperature", type=temperature, help="reading at the back, °C")
    parser.add_argument("--cell-temperature", type=temperature, help="of the cells, °C")
    parser.add_argument(
        "--v-oc", type=number(most=MOST_VOLTS), help="a measured Voc, V: counts what is missing"
    )
    points = count(0, 10_000)
    parser.add_argument("--points", type=points, default=0, help="print so many of the curve")
    parser.add_argument("--json", action="store_true", help="print JSON")


def run(arguments: argparse.Namespace) -> int:
    try:
        datasheet, string = _what(arguments)
        fit = fit_datasheet(datasheet)
        if fit.model is None:
            raise ValueError(" ".join(fit.problems))
        expectation = expect_string(
            fit.model,
            string,
            arguments.irradiance,
            arguments.module_temperature,
            arguments.cell_temperature,
        )
        deficit = (
            None
            if arguments.v_oc is None
            else read_voltage_deficit(arguments.v_oc, expectation, datasheet, string)
        )
    except (LayoutError, UnknownModuleError, ValueError) as error:
        complain("expect", str(error))
        return 2
    within = expected_within(expectation, fit.model, string, datasheet.crystalline)
    if arguments.json:
        _print_json(expectation, within, deficit, arguments.points)
    else:
        _print_words(expectation, within, deficit, arguments.points)
    return 0


def _what(arguments: argparse.Namespace) -> tuple[Datasheet, StringLayout]:
    if arguments.module:
        if arguments.modules < 1:
            raise ValueError(f"--modules must be 1 or more, not {arguments.modules}")
        return (
            module_named(arguments.module).datasheet,
            StringLayout("string", arguments.module, arguments.modules),
        )
    if not (arguments.source and arguments.combiner and arguments.string):
        raise ValueError("name FOLDER COMBINER STRING, or --module and --modules")
    layout, _ = open_layout(arguments.source)
    string = layout.string(arguments.combiner, arguments.string)
    if string is None:
        raise ValueError(f"site.toml lists no string {arguments.string} in {arguments.combiner}")
    if string.module not in layout.modules:
        raise ValueError(f"there is no usable datasheet for module {string.module}")
    return layout.modules[string.module], string


def _points(expectation: Expectation, count: int) -> list[tuple[float, float]]:
    if count < 2:
        return []
    voltage, current = curve(expectation.parameters, count)
    return [(float(v), float(i)) for v, i in zip(voltage, current, strict=True)]


def _print_json(
    expectation: Expectation, within: KeyPoints, deficit: VoltageDeficit | None, count: int
) -> None:
    made = {
        "poa_global": expectation.poa_global,
        "temperature_cell": expectation.temperature_cell,
        "predicted": expectation.key_points.as_dict(),
        "uncertainty": within.as_dict(),
        "deficit": asdict(deficit) if deficit else None,
        "curve": _points(expectation, count),
    }
    print(json.dumps(made, ensure_ascii=False))


def _print_words(
    expectation: Expectation, within: KeyPoints, deficit: VoltageDeficit | None, count: int
) -> None:
    print(
        f"At {expectation.poa_global:.0f} W/m² and cells at "
        f"{expectation.temperature_cell:.1f} °C expect (± k = 2)"
    )
    values, spread = expectation.key_points.as_dict(), within.as_dict()
    for quantity in KEY_POINTS:
        value, half = (quantity.text(one[quantity.name]) for one in (values, spread))
        print(f"  {quantity.label:<4} {value:>9} ± {half:>6} {quantity.unit}".rstrip())
    if deficit:
        print(deficit.text[0].upper() + deficit.text[1:] + ".")
    for voltage, current in _points(expectation, count):
        print(f"{voltage:10.2f} V {current:9.3f} A")
