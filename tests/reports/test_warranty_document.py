"""Warranty documents: which traces they rest upon, and what they may say."""

from dataclasses import replace
from datetime import date

import pytest

from tests.reports.report_orders import many_layout, many_results, order
from tests.reports.written_documents import broad, pages, pdf_text, written
from viewer.analysis.results.trace_result import CandidateCause, Check
from viewer.analysis.years.warranty import BELOW, WarrantyCheck, WarrantyFindings
from viewer.reports.curve_figure import trace_label
from viewer.reports.document.content import Column, Paragraph
from viewer.reports.warranty_table import warranty_lines
from viewer.site_data.warranty_terms import WarrantyTerms
from viewer.state.reporting.report_making import make_document


def with_failed_check(result, name):
    failed = replace(result.conditions, checks=(Check(name, False, "898 to 855 W/m²"),))
    return replace(result, conditions=failed)


def judged_by_an_earlier_trace():
    """Two visits of two strings; of the second string only the earlier trace can be judged."""
    results = many_results(2)
    newest = max(range(4), key=lambda at: (results[at].trace.measured_at, at))
    made = tuple(
        with_failed_check(one, "irradiance drift") if at == newest else one
        for at, one in enumerate(results)
    )
    return (
        made,
        results[newest],
        next(
            one
            for one in results
            if one.trace.string == results[newest].trace.string and one is not results[newest]
        ),
    )


def test_a_warranty_check_of_an_earlier_trace_shows_that_trace(tmp_path):
    results, unfit, earlier = judged_by_an_earlier_trace()
    document = make_document(order("warranty", results, many_layout(2)))
    tables = {one.name: one for one in document.tables()}
    files = [row[0] for row in tables["Files and their checksums"].rows]
    assert earlier.trace.source in files
    assert unfit.trace.source in files
    traced = tables["Strings traced, with their conditions"].rows
    assert f"{earlier.trace.measured_at:%Y-%m-%d %H:%M}" in [row[5] for row in traced]
    path = written(order("warranty", results, many_layout(2)), tmp_path / "r.pdf")
    said = " ".join(pdf_text(path).split())
    assert "1 trace left out: check not passed: irradiance drift." in said


def test_what_is_below_its_warranted_power_is_shown_by_the_trace_that_was_judged():
    results, _, earlier = judged_by_an_earlier_trace()
    terms = WarrantyTerms(0.0, 0.0, 25.0, rated_power=1000.0, start=date(2023, 5, 1))
    layout = many_layout(2)
    modules = {key: replace(sheet, warranty=terms) for key, sheet in layout.modules.items()}
    document = make_document(order("warranty", results, replace(layout, modules=modules)))
    shown = [one.heading for one in document.sections if earlier.trace.string in one.heading]
    assert shown == [trace_label(earlier, with_time=True)]


def test_findings_that_are_nearly_certain_are_not_said_to_be_never_wrong(tmp_path):
    terms = WarrantyTerms(0.0, 0.0, 25.0, rated_power=1000.0, start=date(2023, 5, 1))
    layout = many_layout(2)
    modules = {key: replace(sheet, warranty=terms) for key, sheet in layout.modules.items()}
    asked = order("warranty", many_results(2), replace(layout, modules=modules))
    said = " ".join(pdf_text(written(asked, tmp_path / "r.pdf")).split())
    assert 'Findings "below" that would be wrong on average' in said
    assert "printed: less than 0.01." in said


def test_the_table_of_the_command_line_says_so_too():
    place, day, source = ("C1", "S1"), date(2025, 6, 1), "2025/C1/S1.csv"
    powers = (6000.0, 50.0, 20.0, 6800.0)
    check = WarrantyCheck(place, None, "INV", day, 1.0, 20, *powers, BELOW, 0.998, source)
    found = WarrantyFindings((check,), 20, 800.0, 100.0, 0.002, ())
    assert "would be wrong on average: less than 0.01." in " ".join(warranty_lines(found))
    often = replace(found, expected_false=0.31)
    assert "wrong on average: 0.31." in " ".join(warranty_lines(often))


def test_no_decision_is_broken_within_its_word(tmp_path):
    results = tuple(
        one if one.translated is None else replace(one, uncertainty=broad(one))
        for one in many_results(2)
    )
    said = pdf_text(written(order("warranty", results, many_layout(2)), tmp_path / "r.pdf"))
    rows = [line for line in said.splitlines() if line.startswith("C1 S0") and " 2025-" in line]
    assert rows
    assert all(line.endswith("inconclusive") for line in rows)


def test_power_of_the_baseline_stands_beside_that_of_now():
    """A claim showed what is, and nothing of what was: that stood in another document only."""
    results = many_results(2)
    document = make_document(order("warranty", results, many_layout(2)))
    heading = "Change since the baseline, 2024"
    (section,) = [one for one in document.sections if one.heading == heading]
    rows = section.blocks[0].rows
    then = {one.trace.string: one.translated.p_mp for one in results[:2]}
    now = {one.trace.string: one.translated.p_mp for one in results[2:]}
    assert [row[0] for row in rows] == ["C1 S01", "C1 S02"]
    for name, before, after, percent, _, rate in rows:
        string = name.split()[1]
        assert (before, after) == (then[string], now[string])
        assert percent == pytest.approx(100 * (after / before - 1))
        assert rate.endswith("%/year")
        assert " to " in rate
    alone = make_document(order("warranty", many_results(2, visits=1), many_layout(2)))
    assert not [one for one in alone.sections if one.heading.startswith("Change since")]


def test_nearly_certain_is_not_printed_as_certain():
    column = Column("P below", "", 3, probability=True)
    assert [column.text(p) for p in (0.9999, 0.9994, 0.5, 0.0006, 0.0001, None)] == [
        "> 0.999",
        "0.999",
        "0.500",
        "0.001",
        "< 0.001",
        "–",
    ]
    place, day = ("C1", "S1"), date(2025, 6, 1)
    for share, said in ((0.99999, "> 99.9 %"), (0.00001, "< 0.1 %"), (0.5, "50.0 %")):
        powers = (6000.0, 50.0, 20.0, 6800.0)
        check = WarrantyCheck(place, None, "INV", day, 1.0, 20, *powers, BELOW, share, "S1.csv")
        lines = warranty_lines(WarrantyFindings((check,), 20, 800.0, 100.0, 0.002, ()))
        assert said in lines[1]


def summary_of(results):
    document = make_document(order("warranty", results, many_layout(3)))
    return [one.text for one in document.sections[0].blocks if isinstance(one, Paragraph)]


def test_a_claim_says_where_its_own_program_doubts_the_readings():
    """Eighteen of nineteen strings of a claim had "irradiance input" as first cause, which its
    summary did not say; nor that the other strings of that day, by the same sensor, were sound."""
    results = many_results(3, every=2)
    reading = CandidateCause("irradiance_input", 0.55, "low", "Check the sensor.")
    doubted = tuple(
        replace(one, candidate_causes=(reading,)) if one.power_ratio < 0.95 else one
        for one in results
    )
    assert not [text for text in summary_of(results) if "wrong reading" in text]
    (said,) = [text for text in summary_of(doubted) if "wrong reading" in text]
    now = {one.trace.string: one.power_ratio for one in doubted[3:]}
    assert "in: 2 of 2." in said
    assert f"below: {min(now.values()):.3f} to" in said
    assert f"of all other strings: {now['S02']:.3f} to {now['S02']:.3f}" in said
    alone = tuple(one for one in doubted if one.trace.string != "S02")
    (said,) = [text for text in summary_of(alone) if "wrong reading" in text]
    assert "No other string was traced" in said


def test_the_evidence_on_a_string_keeps_to_its_page(tmp_path):
    """Two lines of it stood on a page of their own, string after string."""
    words = "The current is low all along the curve, which costs much of what was predicted. " * 4
    causes = tuple(
        CandidateCause(name, 0.4, words, words) for name in ("soiling", "degradation", "shading")
    )
    results = tuple(replace(one, candidate_causes=causes) for one in many_results(2))
    path = written(order("warranty", results, many_layout(2)), tmp_path / "r.pdf")
    shown = [page for page in pages(path) if "Key points C1" in page]
    assert len(shown) == 2
    assert all("SHA-256" in page for page in shown)
