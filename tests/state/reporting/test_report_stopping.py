"""A report that is stopped leaves no file; repairs of the site file are printed."""

from datetime import date
from pathlib import Path

import pytest
from pypdf import PdfReader

from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.site_data.report_details_file import EnteredDetails, EnteredRepair
from viewer.site_data.resource_folder import example_folder
from viewer.site_data.site_file.annotations import Repair
from viewer.state.reporting.report_making import ReportOrder, write_report
from viewer.state.reporting.reported_repairs import all_repairs
from viewer.state.visit_opening import open_site

MENDED = Repair("CB-A", "CB-A-S07", date(2024, 7, 1), "tree cut back")


@pytest.fixture(scope="module")
def order() -> ReportOrder:
    layout, results = None, []
    for _, arrival in open_site(example_folder()):
        layout = arrival.layout or layout
        results += arrival.results
    assert layout is not None
    details = EnteredDetails(
        {"sensor": "on the tilt of row 3", "next_inspection": "June 2026", "plots": False}, ()
    )
    return ReportOrder(
        "troubleshooting",
        layout,
        tuple(results),
        details,
        date(2025, 7, 1),
        InputUncertainties(),
        repairs=(MENDED,),
    )


def test_stopped_during_layout_leaves_nothing(order: ReportOrder, tmp_path: Path) -> None:
    asked = []

    def stopped() -> bool:
        asked.append(1)
        return len(asked) > 3

    file = tmp_path / "report.pdf"
    list(write_report(order, [file], stopped))
    assert not file.exists()
    assert len(asked) == 4


def test_all_that_is_asked_is_printed(order: ReportOrder, tmp_path: Path) -> None:
    file = tmp_path / "report.pdf"
    list(write_report(order, [file]))
    said = " ".join(page.extract_text() for page in PdfReader(file).pages)
    for words in ("on the tilt of row 3", "June 2026", "Date and signature", "tree cut back"):
        assert words in said
    assert "Strings traced, with their conditions" in said


def test_a_repair_entered_twice_counts_once(order: ReportOrder) -> None:
    entered = EnteredRepair("CB-A", "CB-A-S07", "2024-07-01", "tree felled", "", "A. Fitter")
    details = EnteredDetails({}, (entered,))
    both = ReportOrder(
        order.kind,
        order.layout,
        order.results,
        details,
        order.printed_on,
        order.inputs,
        repairs=(MENDED,),
    )
    assert all_repairs(both.details.repairs, both.repairs) == [entered]
    assert [one.action for one in all_repairs(order.details.repairs, order.repairs)] == [
        "tree cut back"
    ]
