"""`curvewright sheet`: a test sheet for the strings to trace, as PDF and CSV."""

import argparse
from collections.abc import Sequence
from pathlib import Path

from viewer.analysis.before_visit.electrical_limits import electrical_limits
from viewer.analysis.before_visit.visit_sheet import SheetRow, sheet_rows
from viewer.analysis.prediction.site_models import site_models
from viewer.app.commands.argument_types import irradiance, temperature
from viewer.app.commands.complaints import complain, sentence
from viewer.app.commands.measuring_options import Ratings, add_ratings, ratings
from viewer.physics.conditions import cell_from_module_temperature
from viewer.reading.visits.open_layout import LayoutError, open_layout
from viewer.reports.plain_table import aligned
from viewer.reports.visit_sheet_files import write_sheet_csv, write_sheet_pdf
from viewer.site_data.site_layout import SiteLayout


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("source", metavar="FOLDER", help="folder with a site.toml, or site file")
    parser.add_argument("--irradiance", type=irradiance, default=800.0, help="forecast, W/m²")
    parser.add_argument("--module-temperature", type=temperature, help="forecast at the back, °C")
    parser.add_argument("--cell-temperature", type=temperature, help="forecast of the cells, °C")
    parser.add_argument(
        "--string",
        nargs=2,
        action="append",
        metavar=("COMBINER", "STRING"),
        help="a string to trace, in walking order; repeat it (default: every string)",
    )
    parser.add_argument("--day", default="", help="day of the visit, printed in the heading")
    add_ratings(parser)
    parser.add_argument("--pdf", type=Path, metavar="FILE")
    parser.add_argument("--csv", type=Path, metavar="FILE")


def run(arguments: argparse.Namespace) -> int:
    try:
        layout, problems = open_layout(arguments.source)
        cell = _cell_temperature(arguments)
        rows = _rows(layout, arguments, cell)
        known = ratings(arguments)
    except (LayoutError, ValueError) as error:
        complain("sheet", str(error))
        return 2
    for problem in problems:
        complain("sheet", problem)
    try:
        if arguments.csv:
            write_sheet_csv(arguments.csv, rows)
        if arguments.pdf:
            _write_pdf(arguments, layout, rows, cell, known)
    except OSError as error:
        complain("sheet", sentence(error))
        return 2
    if not (arguments.csv or arguments.pdf):
        _print_table(rows)
    if known.said:
        print(known.said)
    return 0


def _cell_temperature(arguments: argparse.Namespace) -> float:
    if arguments.irradiance <= 0:
        raise ValueError(f"irradiance must be above 0 W/m², not {arguments.irradiance:g}")
    if arguments.cell_temperature is not None:
        return float(arguments.cell_temperature)
    if arguments.module_temperature is None:
        raise ValueError("give --module-temperature or --cell-temperature")
    return float(cell_from_module_temperature(arguments.module_temperature, arguments.irradiance))


def _rows(
    layout: SiteLayout, arguments: argparse.Namespace, temperature_cell: float
) -> tuple[SheetRow, ...]:
    strings = [tuple(pair) for pair in arguments.string or ()] or [
        (combiner.name, string.name) for combiner in layout.combiners for string in combiner.strings
    ]
    unknown = next((pair for pair in strings if layout.string(*pair) is None), None)
    if unknown:
        raise ValueError(f"site.toml lists no string {unknown[1]} in combiner {unknown[0]}")
    models = site_models(layout.modules).models
    return sheet_rows(layout, models, strings, arguments.irradiance, temperature_cell)


def _write_pdf(
    arguments: argparse.Namespace,
    layout: SiteLayout,
    rows: Sequence[SheetRow],
    temperature_cell: float,
    known: Ratings,
) -> None:
    limits = (
        electrical_limits(layout, known.lowest, known.equipment, measuring_set=known.measuring_set)
        if known.lowest is not None
        else ()
    )
    write_sheet_pdf(
        arguments.pdf,
        layout.name,
        rows,
        arguments.irradiance,
        temperature_cell,
        limits,
        arguments.day,
    )


def _print_table(rows: Sequence[SheetRow]) -> None:
    headings = (
        "#",
        "Combiner",
        "String",
        "Module",
        "n",
        "Voc V",
        "Voc band V",
        "Isc A",
        "Isc band",
    )
    cells = [
        (
            str(r.order),
            r.combiner,
            r.string,
            r.module,
            str(r.modules_in_series),
            f"{r.v_oc:.1f}",
            f"{r.v_oc_low:.1f} – {r.v_oc_high:.1f}",
            f"{r.i_sc:.2f}",
            f"{r.i_sc_low:.2f} – {r.i_sc_high:.2f}",
        )
        for r in rows
    ]
    for line in aligned(headings, cells, {"#", "n", "Voc V", "Isc A"}):
        print(line)
