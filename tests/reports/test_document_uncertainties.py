"""Numbers in documents stand with their uncertainty, and nothing is said twice."""

from dataclasses import replace

import openpyxl
import pytest

from tests.invented_results import FIRST_DAY, SECOND_DAY, invented_layout, invented_result
from tests.reports.report_orders import many_layout, many_results, order, told
from tests.reports.written_documents import broad, pdf_text, written
from viewer.analysis.results.trace_result import CandidateCause
from viewer.reports.document.content import TableBlock
from viewer.site_data.report_details_file import EnteredDetails, EnteredRepair
from viewer.state.reporting.report_making import make_document


def test_key_points_are_printed_with_the_uncertainty_of_each():
    (one,) = many_results(1, visits=1)
    one = replace(one, uncertainty=broad(one))
    document = make_document(order("recommendations", (told(one),), many_layout(1)))
    (table,) = [block for block in all_tables(document) if block.name.startswith("Key points C1")]
    assert [column.title for column in table.columns].count("± k=2") == 3
    i_sc = table.rows[0]
    half = one.translated.i_sc / 2
    assert (i_sc[1], i_sc[3], i_sc[6]) == (
        one.measured.i_sc,
        one.predicted.i_sc,
        one.translated.i_sc,
    )
    assert (i_sc[2], i_sc[4], i_sc[7]) == (half, half, half)


def test_the_workbook_has_every_key_point_with_its_uncertainty(tmp_path):
    results = tuple(replace(one, uncertainty=broad(one)) for one in many_results(2, visits=1))
    path = written(order("yearly", results, many_layout(2)), tmp_path / "r.xlsx")
    rows = list(openpyxl.load_workbook(path)["Key points"].values)
    place = rows[0].index("Pmp translated ± k=2 (W)")
    assert rows[0][place - 1] == "Pmp translated (W)"
    assert rows[1][place] == pytest.approx(results[0].translated.p_mp / 2)


def all_tables(document):
    return [b for one in document.sections for b in one.blocks if isinstance(b, TableBlock)]


@pytest.mark.parametrize("kind", ["recommendations", "troubleshooting"])
def test_what_is_missing_has_an_uncertainty_and_leaves_doubtful_readings_out(kind):
    fault, doubtful = (told(one) for one in many_results(2, visits=1))
    reading = CandidateCause("irradiance_input", 0.9, "The light changed.", "Trace again.")
    doubtful = replace(doubtful, candidate_causes=(reading,))
    document = make_document(order(kind, (fault, doubtful), many_layout(2)))
    said = document.sections[0].blocks[1].text
    lost = fault.translated.p_mp * (1 / fault.power_ratio - 1)
    half = fault.translated.p_mp / fault.power_ratio**2 * fault.power_ratio_uncertainty
    number = "{:.1f} ± {:.1f} kW" if kind == "recommendations" else "{:.0f} ± {:.0f} W"
    unit = 1000 if kind == "recommendations" else 1
    assert "Traces with a finding: 2 of 2." in said
    assert "lies in the string: 1;" in said
    assert number.format(lost / unit, half / unit) in said
    if kind == "recommendations":
        first = next(one for one in all_tables(document) if "Lost at STC (W)" in _titles(one))
        place = _titles(first).index("Lost at STC (W)")
        assert _titles(first)[place + 1] == "± k=2 (W)"
        assert first.rows[0][place : place + 2] == pytest.approx((lost, half))


def _titles(table):
    return [column.title for column in table.columns]


def test_what_a_trace_shows_is_printed_once(tmp_path):
    (one,) = many_results(1, visits=1)
    one = told(one)
    shown = one.signatures[0].text
    same = replace(one.candidate_causes[0], evidence=shown)
    one = replace(one, candidate_causes=(same, one.candidate_causes[1]))
    path = written(order("recommendations", (one,), many_layout(1)), tmp_path / "r.pdf")
    flat = " ".join(pdf_text(path).split())
    assert flat.count(shown) == 1
    assert "Soiling (62%): as listed above. Next check:" in flat
    assert one.candidate_causes[1].evidence in flat


def test_what_a_repair_gained_has_an_uncertainty():
    at = (FIRST_DAY, SECOND_DAY)
    before, after = (
        invented_result(at=day, loss=loss) for day, loss in zip(at, (0.1, 0.0), strict=True)
    )
    before, after = (replace(one, uncertainty=broad(one)) for one in (before, after))
    repair = EnteredRepair("C1", "S1", "2024-12-01", "changed", "", "A")
    made = order("troubleshooting", (before, after), invented_layout(1, 1))
    made = replace(made, details=EnteredDetails({}, (repair,)))
    (table,) = [one for one in all_tables(make_document(made)) if one.name == "What was done"]
    gained = after.translated.p_mp / before.translated.p_mp
    assert table.rows[0][-2] == pytest.approx(100 * (gained - 1))
    assert table.rows[0][-1] == pytest.approx(100 * gained * 0.5 * 2**0.5)
