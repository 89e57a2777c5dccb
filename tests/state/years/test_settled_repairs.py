"""What was done about a finding settled in a folder counts in the rates, as in a site file."""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.app.invented_site import write_site
from tests.app.running import command
from viewer.analysis.causes.confirmation import Confirmation
from viewer.state.keeping.settled_store import store_in_folder
from viewer.state.session import Session
from viewer.state.visit_opening import open_site

TRACE, RETEST = "2022/CB1/S1.csv", "2025/CB1/S1.csv"
SETTLED = Confirmation(
    TRACE,
    "none",
    "series_resistance",
    "connector replaced",
    confirmed_at=datetime(2026, 11, 29, tzinfo=UTC),
    retest=RETEST,
)


@pytest.fixture
def folder(tmp_path) -> Path:
    return write_site(tmp_path / "visits", strings=3)


def rated(folder: Path, file: Path) -> set[tuple[str, str]]:
    assert command("trend", folder, "--json", file, "--quiet") == 0
    made = json.loads(file.read_text())
    return {(one["combiner"], one["string"]) for one in made["strings"]}


def test_on_the_command_line(folder, tmp_path):
    """The trend of a folder took the gain of a repair for slower ageing; the document did not."""
    assert ("CB1", "S1") in rated(folder, tmp_path / "before.json")
    store_in_folder(folder, [SETTLED])
    assert ("CB1", "S1") not in rated(folder, tmp_path / "after.json")


def test_in_the_window(folder):
    store_in_folder(folder, [SETTLED])
    session = Session(open_site)
    session.open(folder)
    source = session.years_source()
    assert source is not None
    (repair,) = source.repairs
    assert (repair.combiner, repair.string) == ("CB1", "S1")
    assert datetime(2022, 1, 1).date() < repair.repaired_on < datetime(2025, 12, 31).date()
    session.years.ensure()
    assert ("CB1", "S1") not in {one.place for one in session.years.found.trend.strings}
