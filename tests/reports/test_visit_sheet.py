"""The test sheet on paper and as CSV."""

import csv
from pathlib import Path

import pytest
from pypdf import PdfReader

from viewer.analysis.before_visit.electrical_limits import MeasuringSet, electrical_limits
from viewer.analysis.before_visit.visit_sheet import SheetRow, sheet_rows
from viewer.analysis.prediction.site_models import site_models
from viewer.reports.visit_sheet_files import CSV_COLUMNS, write_sheet_csv, write_sheet_pdf
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout

MODULE = Datasheet("M", "mono-Si", 10.0, 48.0, 9.5, 40.0, 0.05, -0.28, -0.36, 72)


def _layout(strings: int) -> SiteLayout:
    named = tuple(StringLayout(f"S{k:03d}", "M", 20) for k in range(1, strings + 1))
    return SiteLayout("Invented <b>&", {"M": MODULE}, (Combiner("=C1", named),))


def _rows(layout: SiteLayout) -> tuple[SheetRow, ...]:
    strings = [("=C1", one.name) for one in layout.combiners[0].strings]
    return sheet_rows(layout, site_models(layout.modules).models, strings, 800.0, 45.0)


def test_bands_hold_the_expected_value() -> None:
    (row,) = _rows(_layout(1))
    # Isc by hand: 10 A x 0.8 x (1 + 0.0005 x 20) = 8.08 A.
    assert row.i_sc == pytest.approx(8.08, rel=2e-3)
    assert row.v_oc_low < row.v_oc < row.v_oc_high
    assert row.i_sc_low < row.i_sc < row.i_sc_high


def test_unknown_string_is_named() -> None:
    with pytest.raises(KeyError, match="=C1 S9"):
        sheet_rows(_layout(1), {}, [("=C1", "S9")], 800.0, 45.0)


def test_csv_disarms_formulas(tmp_path: Path) -> None:
    file = tmp_path / "sheet.csv"
    write_sheet_csv(file, _rows(_layout(2)))
    lines = list(csv.reader(file.open(encoding="utf-8")))
    assert tuple(lines[0]) == CSV_COLUMNS
    assert lines[1][1] == "'=C1"
    assert len(lines) == 3


def test_pdf_of_many_strings_repeats_its_head(tmp_path: Path) -> None:
    file = tmp_path / "sheet.pdf"
    layout = _layout(120)
    limits = electrical_limits(
        layout, -20.0, measuring_set=MeasuringSet("meter", 1000.0, 15.0, "CAT III")
    )
    write_sheet_pdf(file, layout.name, _rows(layout), 800.0, 45.0, limits, "2025-06-01")
    pages = [page.extract_text() for page in PdfReader(file).pages]
    assert len(pages) > 5
    first = " ".join(pages[0].split())
    assert "Highest values, for a lowest temperature of −20 °C" in first
    assert "Voc within its expanded uncertainty (k = 2), Isc within ± 5 %" in first
    assert all("Voc band V" in page for page in pages[1:-1])
    assert f"page 2 of {len(pages)}" in pages[1]
    assert "Invented <b>&" in pages[0]
    assert "EXCEEDS" in pages[0]
    assert "qualified" in pages[0]
    assert not any("safe" in page.lower() for page in pages)
    assert "S120" in "".join(pages)
