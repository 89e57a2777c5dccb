"""What was confirmed or corrected in the field is printed, and goes before the first cause."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from tests.analysis.made_results import made_result
from tests.invented_results import invented_layout, invented_result
from tests.reports.report_orders import order, told
from tests.reports.written_documents import pdf_text, written
from viewer.analysis.causes.confirmation import Confirmation
from viewer.reports.document.content import TableBlock
from viewer.reports.document.trace_blocks import missing_in
from viewer.site_data.report_details_file import EnteredRepair
from viewer.site_data.site_file.annotations import Repair
from viewer.state.keeping.settled_store import in_words, store_in_folder, stored_settled
from viewer.state.reporting.report_making import ReportOrder, make_document
from viewer.state.reporting.reported_repairs import all_repairs, settled_days, settled_repairs

FOUND, RETEST = datetime(2026, 9, 15, 12), datetime(2026, 10, 20, 13)
ENTERED = datetime(2026, 11, 29, 9, tzinfo=UTC)
BEFORE = told(invented_result("C1", "S1", FOUND, 0.1))
AFTER = replace(invented_result("C1", "S1", RETEST, 0.0), candidate_causes=())
AFTER = replace(AFTER, trace=replace(AFTER.trace, source="2026/C1/S1_again.csv"))
SETTLED = Confirmation(
    BEFORE.trace.source,
    "soiling",
    "series_resistance",
    "connector replaced",
    ("lot 5521",),
    "R. Okafor",
    ENTERED,
    AFTER.trace.source,
)


def asked(kind: str, visit: str | None, *settled: Confirmation) -> ReportOrder:
    made = order(kind, (BEFORE, AFTER), invented_layout(1, 1))
    return replace(made, settled=settled, visit=visit)


@pytest.mark.parametrize("kind", ["troubleshooting", "recommendations"])
def test_the_cause_found_in_the_field_and_the_action_are_printed(tmp_path, kind):
    """Documents went on naming the first cause and its check, whatever had been found and done."""
    made = asked(kind, "2026-09-15", SETTLED)
    flat = " ".join(pdf_text(written(made, tmp_path / "r.pdf")).split())
    assert "Found in the field: series resistance; soiling had been suggested first." in flat
    assert "Entered by R. Okafor on 2026-11-29. Done: connector replaced. Parts: lot 5521." in flat
    assert "Traced again: 2026/C1/S1_again.csv." in flat
    tables = [b for s in make_document(made).sections for b in s.blocks if hasattr(b, "rows")]
    assert any("series resistance (found in the field)" in row for t in tables for row in t.rows)


def test_what_was_done_stands_with_its_own_traces(tmp_path):
    made = asked("troubleshooting", "2026-09-15", SETTLED)
    flat = " ".join(pdf_text(written(made, tmp_path / "r.pdf")).split())
    assert "Before: C1 S1, 2026-09-15 12:00" in flat
    assert "After: C1 S1, 2026-10-20 13:00" in flat
    (section,) = [one for one in make_document(made).sections if one.heading == "What was done"]
    row = section.blocks[0].rows[0]
    assert row[:5] == ("C1 S1", "before 2026-10-20", "connector replaced", "lot 5521", "R. Okafor")


def test_the_day_of_the_entry_is_not_that_of_the_repair():
    """Entered in the office after the retest, a repair came after both traces: no rate knew it."""
    (one,) = settled_repairs((BEFORE, AFTER), (SETTLED,), "before {day}")
    assert (one.before, one.after) == (BEFORE, AFTER)
    assert one.work.done_on == "before 2026-10-20"
    assert settled_days([one]) == {("C1", "S1"): [FOUND.date()]}
    due = replace(SETTLED, retest=None)
    (one,) = settled_repairs((BEFORE, AFTER), (due,), "before {day}")
    assert one.after is None
    assert settled_days([one]) == {("C1", "S1"): [date(2026, 11, 29)]}
    assert settled_repairs((BEFORE,), (replace(SETTLED, action=""),), "") == []


def test_a_repair_entered_for_a_report_in_the_same_words_is_told_once():
    entered = EnteredRepair("C1", "S1", "2026-10-05", "Connector replaced")
    other = replace(entered, action="fuse replaced")
    for repairs, count in (((entered,), 0), ((other,), 1)):
        assert len(settled_repairs((BEFORE, AFTER), (SETTLED,), "before {day}", repairs)) == count


def test_what_a_site_file_keeps_of_it_is_not_told_twice():
    kept = Repair("C1", "S1", date(2026, 11, 29), in_words(SETTLED))
    other = Repair("C1", "S1", date(2025, 1, 1), "fuse replaced")
    assert [one.action for one in all_repairs((), (kept, other), (SETTLED,))] == ["fuse replaced"]


@pytest.mark.parametrize(
    ("suggested", "confirmed", "stored"),
    [
        ("bypass_short", "bypass_short", "Confirmed: bypass short."),
        (
            "irradiance_input",
            "temperature_input",
            "Corrected to temperature input. The first suggestion was irradiance input.",
        ),
        ("none", "soiling", "Corrected to soiling. The first suggestion was none."),
    ],
)
def test_a_repair_stored_under_an_earlier_name_of_its_cause_is_not_told_twice(
    suggested, confirmed, stored
):
    """The report had it once under each name, as two repairs of one string and day."""
    found = replace(SETTLED, suggested=suggested, confirmed=confirmed)
    kept = Repair("C1", "S1", date(2026, 10, 19), f"{stored} connector replaced. Parts: lot 5521.")
    assert all_repairs((), (kept,), (found,)) == []
    made = replace(asked("troubleshooting", "2026-09-15", found), repairs=(kept,))
    (section,) = [one for one in make_document(made).sections if one.heading == "What was done"]
    assert len(section.blocks[0].rows) == 1


def test_what_was_found_decides_about_what_a_string_lacks():
    fault = made_result("C1", "S1", 0.9, {"low_current": 400.0}, cause="soiling")
    doubtful = made_result("C1", "S2", 0.9, {"low_current": 400.0}, cause="irradiance_input")
    assert missing_in([fault, doubtful]).strings == 1

    def found(result, cause):
        return {result.trace.source: Confirmation(result.trace.source, "soiling", cause)}

    assert missing_in([fault], found(fault, "irradiance_input")).strings == 0
    assert missing_in([fault], found(fault, "none")).strings == 0
    assert missing_in([doubtful], found(doubtful, "degradation")).strings == 1


def test_those_of_a_folder_are_read(tmp_path):
    assert stored_settled(tmp_path) == []
    store_in_folder(tmp_path, [SETTLED])
    assert stored_settled(tmp_path) == [SETTLED]


def test_what_to_do_first_tells_each_string_once():
    """One line said "done", the next told the same string's fault again by its other trace."""
    second = told(invented_result("C1", "S1", FOUND.replace(hour=14), 0.1))
    second = replace(second, trace=replace(second.trace, source="2026/C1/S1_second.csv"))
    made = order("recommendations", (BEFORE, second), invented_layout(1, 1))
    for settled, words in (((), "soiling (62%)"), ((SETTLED,), "series resistance (found in the")):
        summary = make_document(replace(made, settled=settled)).sections[0]
        (table,) = [one for one in summary.blocks if isinstance(one, TableBlock)]
        (row,) = table.rows
        assert row[5].startswith(words)
        assert row[1] == ("C1 S1, 2026-09-15 12:00" if settled else "C1 S1, 2026-09-15 14:00")
