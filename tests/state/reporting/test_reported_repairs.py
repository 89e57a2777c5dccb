"""Repairs in reports: by which traces they are judged, what is printed, what rates make of it."""

from dataclasses import replace
from datetime import datetime

import pytest

from tests.invented_results import invented_layout, invented_result
from tests.reports.report_orders import order
from tests.reports.written_documents import broad
from viewer.analysis.results.trace_result import Check, TraceResult
from viewer.reports.document.content import FigureBlock, Paragraph, Section, TableBlock
from viewer.site_data.report_details_file import EnteredDetails, EnteredRepair
from viewer.state.reporting.report_making import make_document
from viewer.state.reporting.reported_repairs import repaired_strings

REPAIR = EnteredRepair("C1", "S1", "2026-09-15", "connector replaced")
BASELINE = datetime(2020, 5, 12, 12)


def traced(at: datetime, loss: float = 0.1, fit: bool = True) -> TraceResult:
    made = invented_result("C1", "S1", at, loss)
    sun = Check("irradiance for power", fit, "as the sun stood")
    return replace(made, conditions=replace(made.conditions, checks=(sun,)))


def moments(*results: TraceResult) -> tuple[datetime, datetime | None]:
    (one,) = repaired_strings(results, (REPAIR,))
    after = one.after.trace.measured_at if one.after else None
    return one.before.trace.measured_at, after


def test_found_mended_and_traced_again_on_one_day() -> None:
    """The baseline of six years before stood as "before", the faulty trace as "after"."""
    faulty, mended = datetime(2026, 9, 15, 12), datetime(2026, 9, 15, 14)
    own = [traced(BASELINE, 0.0), traced(mended, 0.01), traced(faulty)]
    assert moments(*own) == (faulty, mended)


def test_before_and_after_on_other_days() -> None:
    before, after = datetime(2026, 9, 14, 12), datetime(2026, 9, 16, 12)
    assert moments(traced(BASELINE), traced(before), traced(after)) == (before, after)
    evening = traced(datetime(2026, 9, 14, 19), fit=False)
    clouds = traced(datetime(2026, 9, 16, 9), fit=False)
    assert moments(traced(before), evening, clouds, traced(after)) == (before, after)
    later = traced(datetime(2026, 10, 16, 12))
    assert moments(traced(before), traced(after), later) == (before, after)


def test_a_single_trace_on_the_day_is_the_retest() -> None:
    retest = datetime(2026, 9, 15, 14)
    assert moments(traced(BASELINE), traced(retest)) == (BASELINE, retest)
    assert moments(traced(retest)) == (retest, None)


def troubleshooting(*results: TraceResult) -> Section:
    made = order("troubleshooting", results, invented_layout(1, 1))
    document = make_document(replace(made, details=EnteredDetails({}, (REPAIR,))))
    (section,) = [one for one in document.sections if one.heading == "What was done"]
    return section


@pytest.mark.parametrize(
    ("spread", "said"), [(0.001, "The gain is larger than"), (0.5, "do not show a gain of power")]
)
def test_a_repair_that_helped_is_drawn_before_and_after(spread: float, said: str) -> None:
    """The retest has no finding and so no page of its own: its curves were printed nowhere."""
    before = traced(datetime(2026, 9, 14, 12))
    after = replace(traced(datetime(2026, 9, 16, 12), 0.0), candidate_causes=())
    before, after = (_with(one, spread) for one in (before, after))
    section = troubleshooting(before, after)
    (figure,) = [one for one in section.blocks if isinstance(one, FigureBlock)]
    assert len([one for one in figure.figure.panels[0].series if one.role == "measured"]) == 2
    (words,) = [one.text for one in section.blocks if isinstance(one, Paragraph)]
    assert words.startswith("Before: C1 S1, 2026-09-14 12:00, 968 W/m², cells at 50.0 °C. After:")
    assert said in words


def _with(result: TraceResult, spread: float) -> TraceResult:
    known = broad(result)
    power = result.translated.p_mp * spread
    return replace(
        result, uncertainty=replace(known, translated=replace(known.translated, p_mp=power))
    )


def test_a_repair_without_a_retest_says_so() -> None:
    section = troubleshooting(traced(datetime(2026, 9, 14, 12)))
    assert not [one for one in section.blocks if isinstance(one, FigureBlock)]
    assert section.blocks[-1].text.endswith("No retest is entered.")


def test_a_repaired_string_is_in_no_rate_of_the_yearly_document() -> None:
    """Its gain would be taken for slower ageing; the trend of the command line knew it already."""
    days = (BASELINE, datetime(2026, 9, 14, 12), datetime(2026, 9, 16, 12))
    results = tuple(traced(day, loss) for day, loss in zip(days, (0.0, 0.1, 0.0), strict=True))
    made = order("yearly", results, invented_layout(1, 1))
    document = make_document(replace(made, details=EnteredDetails({}, (REPAIR,))))
    rates = next(one for one in document.sections if one.heading == "Change over the years")
    tables = {one.name: one for one in rates.blocks if isinstance(one, TableBlock)}
    assert tables["Rates of single strings with their 95 % intervals"].rows == ()
