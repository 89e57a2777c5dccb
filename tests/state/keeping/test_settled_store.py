"""A finding settled in steps, as people do: the cause first, the action and the retest later."""

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from tests.app.invented_site import write_site
from viewer.analysis.causes.confirmation import Confirmation
from viewer.site_data.site_file.annotation_listing import list_annotations
from viewer.site_data.site_file.annotations import read_repairs
from viewer.site_data.site_file.connection import open_site_file
from viewer.site_data.site_file.journal import undo
from viewer.state.keeping.settled_store import NewlySettled, settled_in, store_in_site_file
from viewer.state.keeping.site_import import import_steps

TRACE, RETEST = "2020/CB1/S1.csv", "2025/CB1/S1.csv"
ENTERED = datetime(2026, 11, 29, 12, tzinfo=UTC)
FOUND = Confirmation(TRACE, "none", "shading", author="M. Invented", confirmed_at=ENTERED)
MENDED = replace(FOUND, action="branch cut", parts=("saw",))
TRACED, RETESTED = date(2020, 6, 2), date(2025, 6, 2)


@pytest.fixture
def path(tmp_path) -> Path:
    made = tmp_path / "field.curvewright"
    for _ in import_steps(write_site(tmp_path / "visits", strings=1, years=(2020, 2025)), made):
        pass
    return made


def settle(path: Path, one: Confirmation, first: bool, retested: date | None = None) -> None:
    with open_site_file(path) as site_file:
        store_in_site_file(site_file, NewlySettled(one, "CB1", "S1", first, TRACED, retested))


def findings(path: Path) -> list[tuple[str, str]]:
    with open_site_file(path) as site_file:
        return [(a.state, a.text) for a in list_annotations(site_file) if a.kind == "finding"]


def repairs(path: Path) -> list[tuple[date, str]]:
    with open_site_file(path) as site_file:
        return [(one.repaired_on, one.text) for one in read_repairs(site_file)]


def test_an_action_entered_later_is_a_repair_and_closes_the_finding(path):
    """It stayed open and no rate knew of the repair, for only the first entry was looked at."""
    settle(path, FOUND, first=True)
    assert [status for status, _ in findings(path)] == ["open"]
    assert repairs(path) == []
    settle(path, MENDED, first=False)
    text = "Corrected to shading. The first suggestion was no fault. branch cut. Parts: saw."
    assert findings(path) == [("closed", f"{text} (shading)")]
    assert repairs(path) == [(date(2026, 11, 29), text)]
    with open_site_file(path) as site_file:
        undo(site_file)
    assert [status for status, _ in findings(path)] == ["open"]
    assert repairs(path) == []


def test_a_retest_told_later_puts_the_repair_between_its_traces(path):
    settle(path, MENDED, first=True)
    assert repairs(path)[0][0] == date(2026, 11, 29)
    settle(path, replace(MENDED, retest=RETEST), first=False, retested=RETESTED)
    assert [day for day, _ in repairs(path)] == [date(2025, 6, 1)]
    assert len(findings(path)) == 1
    with open_site_file(path) as site_file:
        (kept,) = settled_in(site_file)
    assert kept == replace(MENDED, retest=RETEST)


@pytest.mark.parametrize(
    ("traced", "retested", "day"),
    [
        (date(2026, 9, 15), date(2026, 10, 20), date(2026, 10, 19)),
        (date(2026, 9, 15), date(2026, 9, 15), date(2026, 9, 15)),
        (date(2026, 9, 15), None, date(2026, 11, 29)),
        (None, date(2026, 10, 20), date(2026, 10, 19)),
        (date(2026, 9, 15), date(2026, 12, 24), date(2026, 11, 29)),
    ],
)
def test_the_day_of_a_repair(traced, retested, day):
    assert NewlySettled(MENDED, "CB1", "S1", True, traced, retested).repaired_on == day
