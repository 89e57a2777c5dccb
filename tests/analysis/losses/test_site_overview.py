"""The grid of a whole site and its worst strings."""

from datetime import datetime

import numpy as np
import pytest

from tests.analysis.made_results import made_result
from viewer.analysis.losses.energy_cost import clear_year
from viewer.analysis.losses.site_overview import OVERVIEW_QUANTITIES, site_overview, worst_strings
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import Combiner, Location, SiteLayout, StringLayout

MODULE = Datasheet("M", "mono-Si", 9.0, 38.0, 8.5, 31.0, 0.05, -0.29, -0.39, 60)


def layout() -> SiteLayout:
    boxes = tuple(
        Combiner(box, tuple(StringLayout(f"S{k}", "M", 20) for k in range(1, 4)))
        for box in ("C1", "C2")
    )
    return SiteLayout("made", {"M": MODULE}, boxes)


def results() -> list:
    return [
        made_result("C2", "S3", 0.70, {"step": 900.0}, cause="shading"),
        made_result("C1", "S1", 0.99),
        made_result("C1", "S2", 0.85, {"low_current": 500.0}),
        made_result("C2", "S1", 1.10, {"inputs_suspect": 0.0}, cause="irradiance_input"),
        made_result("C1", "S3", None),
        made_result("C3", "new", 0.95, {"slope_near_voc": 200.0}, cause="series_resistance"),
    ]


def test_rows_are_combiners_and_columns_positions() -> None:
    grid = site_overview(results(), layout())
    assert grid.combiners == ("C1", "C2", "C3")
    assert grid.strings[0] == ("S1", "S2", "S3")
    expected = [[0.99, 0.85, np.nan], [1.10, np.nan, 0.70], [0.95, np.nan, np.nan]]
    assert grid.values == pytest.approx(np.array(expected), nan_ok=True)
    assert grid.results[1, 2] == 0
    assert grid.results[1, 1] == -1


def test_the_latest_trace_of_a_string_counts() -> None:
    old = made_result("C1", "S1", 0.5, measured_at=datetime(2029, 1, 1))
    new = made_result("C1", "S1", 0.9, measured_at=datetime(2030, 1, 1))
    assert site_overview([new, old], None).values[0, 0] == pytest.approx(0.9)


@pytest.mark.parametrize("name", sorted(OVERVIEW_QUANTITIES))
def test_every_quantity_can_be_shown(name: str) -> None:
    grid = site_overview(results(), layout(), name)
    assert grid.values.shape == (3, 3)
    assert np.isfinite(grid.values[0, 0])


def test_worst_strings_leave_out_wrong_readings() -> None:
    worst = worst_strings(results(), layout(), None)
    assert [one.string for one in worst] == ["S3", "S2", "new"]
    (found,) = (one for one in results() if one.trace.source == worst[0].trace)
    assert worst[0].cost.lost_at_stc == pytest.approx(found.translated.p_mp * (1.0 / 0.7 - 1.0))


def test_order_by_energy_where_the_year_is_known() -> None:
    year = clear_year(Location(40.0, 0.0), None, 1500.0)
    worst = worst_strings(results(), layout(), year, count=2, price=0.1, currency="EUR")
    assert len(worst) == 2
    assert worst[0].cost.lost_in_year > worst[1].cost.lost_in_year > 0
    assert worst[0].cost.money == pytest.approx(0.1 * worst[0].cost.lost_in_year)


def test_twenty_thousand_strings() -> None:
    many = [made_result(f"C{k // 20}", f"S{k % 20}", 0.8 + k % 7 / 50) for k in range(20_000)]
    grid = site_overview(many, None)
    assert grid.values.shape == (1000, 20)
    assert np.isfinite(grid.values).all()
