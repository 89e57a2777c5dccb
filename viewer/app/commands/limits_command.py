"""`curvewright limits`: highest Voc and Isc of every string against ratings, before a visit."""

import argparse
import json
from collections.abc import Iterable
from dataclasses import asdict

from viewer.analysis.before_visit.electrical_limits import (
    CombinerLimits,
    StringLimits,
    electrical_limits,
)
from viewer.app.commands.argument_types import rating
from viewer.app.commands.complaints import complain
from viewer.app.commands.measuring_options import add_ratings, ratings
from viewer.reading.visits.open_layout import open_layout
from viewer.reports.plain_table import aligned
from viewer.site_data.text_catalogue import texts

_HEADINGS = ("Combiner", "String", "Voc STC V", "Voc max V", "NEC V", "Class V", "1.25 Isc A", "")
_RIGHT = set(_HEADINGS[2:7])


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("source", metavar="FOLDER", help="folder with a site.toml, or site file")
    parser.add_argument(
        "--combiner-amps", type=rating, metavar="AMPS", help="current rating of a combiner"
    )
    add_ratings(parser)
    parser.add_argument("--json", action="store_true", help="print JSON instead of a table")


def run(arguments: argparse.Namespace) -> int:
    try:
        known = ratings(arguments)
        if known.lowest is None:
            raise ValueError("give the lowest temperature on record, --lowest or --settings FILE")
        layout, problems = open_layout(arguments.source)
    except ValueError as error:
        complain("limits", str(error))
        return 2
    for problem in problems:
        complain("limits", problem)
    boxes = electrical_limits(
        layout,
        known.lowest,
        known.equipment,
        arguments.combiner_amps,
        known.measuring_set,
    )
    if arguments.json:
        print(json.dumps([_as_json(box) for box in boxes], ensure_ascii=False, indent=1))
    else:
        _print_table(boxes, known.said)
    return 0


def _as_json(box: CombinerLimits) -> dict[str, object]:
    made = asdict(box)
    made["limits"] = [asdict(one) | {"state": one.state} for one in box.limits]
    made["strings"] = [
        asdict(row) | {"limits": [asdict(one) | {"state": one.state} for one in row.limits]}
        for row in box.strings
    ]
    return made


def _print_table(boxes: Iterable[CombinerLimits], said: str) -> None:
    words = texts()["limits"]
    rows = [_row(row) for box in boxes for row in box.strings]
    for line in aligned(_HEADINGS, rows, _RIGHT):
        print(line)
    print()
    for box in boxes:
        print(f"{box.combiner}: sum of 1.25 Isc {box.i_sc_sum:.1f} A")
        for limit in box.limits:
            print(f"  {words[limit.state]}: {limit.text}")
    print()
    for remark in dict.fromkeys(one for box in boxes for s in box.strings for one in s.remarks):
        print(f"Note: {remark}.")
    if said:
        print(said)
    print(words["note"])
    cautions = texts()["cautions"]
    print(f"\n{cautions['heading']}:")
    for sentence in cautions["sentences"]:
        print(f"  {sentence}")


def _row(row: StringLimits) -> tuple[str, ...]:
    words = texts()["limits"]
    return (
        row.combiner,
        row.string,
        f"{row.v_oc_stc:.0f}",
        f"{row.v_oc_max:.0f}",
        "–" if row.v_oc_max_nec is None else f"{row.v_oc_max_nec:.0f}",
        "above 1500" if row.voltage_class is None else f"{row.voltage_class:.0f}",
        f"{row.i_sc_max:.2f}",
        "; ".join(
            f"{words[limit.state]}: {limit.text}" for limit in row.limits if limit.state != "within"
        ),
    )
