"""The test sheet as a printable PDF and as CSV."""

import csv
from collections.abc import Sequence
from pathlib import Path

from reportlab.lib.units import mm
from reportlab.platypus import Spacer

from viewer.analysis.before_visit.electrical_limits import CombinerLimits
from viewer.analysis.before_visit.visit_sheet import I_SC_TOLERANCE, SheetRow
from viewer.physics.nomenclature import with_minus
from viewer.reports.pdf_page import paragraph, table, text_width, write_pdf
from viewer.site_data.cell_text import plain_cell
from viewer.site_data.text_catalogue import texts
from viewer.site_data.whole_file import drafted

CSV_COLUMNS = (
    "order",
    "combiner",
    "string",
    "module",
    "modules_in_series",
    "v_oc_expected",
    "v_oc_low",
    "v_oc_high",
    "i_sc_expected",
    "i_sc_low",
    "i_sc_high",
)
_READINGS = ("v_oc_read", "i_sc_read", "poa_read", "back_read", "time", "remarks")
"""Columns to be filled in by hand, by their keys in the catalogue."""
_KNOWN = ("rank", "combiner", "string", "module", "in_series", "v_oc_band", "i_sc_band")
_SHARES = (3, 7, 8, 9, 4, 11, 11, 7, 7, 6, 6, 6, 15)


def write_sheet_csv(file: Path, rows: Sequence[SheetRow]) -> None:
    """One line a string, names by pv-terms. Raises OSError when it cannot be written."""
    with drafted(file) as draft, draft.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream)
        writer.writerow(CSV_COLUMNS)
        for r in rows:
            writer.writerow(
                [
                    r.order,
                    plain_cell(r.combiner),
                    plain_cell(r.string),
                    plain_cell(r.module),
                    r.modules_in_series,
                    *(f"{volts:.1f}" for volts in (r.v_oc, r.v_oc_low, r.v_oc_high)),
                    *(f"{amps:.2f}" for amps in (r.i_sc, r.i_sc_low, r.i_sc_high)),
                ]
            )


def _sheet_line(r: SheetRow) -> list[str]:
    return [
        str(r.order),
        r.combiner,
        r.string,
        r.module,
        str(r.modules_in_series),
        f"{r.v_oc_low:.0f} – {r.v_oc_high:.0f}",
        f"{r.i_sc_low:.2f} – {r.i_sc_high:.2f}",
        *[""] * len(_READINGS),
    ]


def write_sheet_pdf(
    file: Path,
    site_name: str,
    rows: Sequence[SheetRow],
    poa_global: float,
    temperature_cell: float,
    limits: Sequence[CombinerLimits] = (),
    day: str = "",
) -> None:
    """The sheet with cautions first. Raises OSError when it cannot be written."""
    said, words = texts()["cautions"], texts()["columns"] | texts()["sheet"]
    width = text_width(wide=True)
    story = [
        paragraph(words["title"].format(site=site_name, day=day).rstrip(), 14, True, 6),
        paragraph(said["heading"], 10, bold=True),
        *(paragraph(f"• {sentence}", 8) for sentence in said["sentences"]),
        Spacer(1, 3 * mm),
        *(_limits_story(limits, width) if limits else []),
        paragraph(
            words["expected"].format(
                irradiance=poa_global, cell=temperature_cell, i_sc_band=100 * I_SC_TOLERANCE
            ),
            8,
            space_after=6,
        ),
        table(
            [words[key] for key in (*_KNOWN, *_READINGS)],
            [_sheet_line(r) for r in rows],
            [width * share / sum(_SHARES) for share in _SHARES],
            numeric=(0, 4, 5, 6),
            row_height=9 * mm,
        ),
        Spacer(1, 4 * mm),
        paragraph(words["to_fill_in"], 8.5),
        Spacer(1, 12 * mm),
    ]
    title, foot = (words[key].format(site=site_name) for key in ("name", "foot"))
    write_pdf(file, title, foot, story, wide=True)


def _limits_story(limits: Sequence[CombinerLimits], width: float) -> list:
    states, words = texts()["limits"], texts()["columns"] | texts()["sheet"]
    rows = [
        [
            box.combiner,
            f"{box.v_oc_max:.0f}",
            f"{box.i_sc_sum:.1f}",
            "; ".join(
                dict.fromkeys(
                    f"{states[limit.state]}: {limit.text}"
                    for limit in (*box.limits, *(x for s in box.strings for x in s.limits))
                )
            ),
        ]
        for box in limits
    ]
    return [
        paragraph(
            words["highest"].format(lowest=with_minus(f"{limits[0].temperature_min:g}")),
            10,
            bold=True,
        ),
        table(
            [words[key] for key in ("combiner", "v_oc_max", "i_sc_sum", "against")],
            rows,
            [width * share for share in (0.14, 0.1, 0.13, 0.63)],
            numeric=(1, 2),
        ),
        paragraph(states["note"], 7),
        Spacer(1, 3 * mm),
    ]
