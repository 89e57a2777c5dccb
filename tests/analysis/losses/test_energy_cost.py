"""What a loss costs in a year, against pvlib's clear sky and by hand."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pvlib
import pytest

from tests.analysis.made_results import made_result
from tests.invented_results import invented_result
from viewer.analysis.losses.energy_cost import (
    clear_year,
    cost_of,
    lost_energy,
    total,
    year_from_data,
)
from viewer.analysis.losses.lost_power import lost_at_standard, lost_at_standard_uncertainty
from viewer.reports.document.trace_blocks import missing_in
from viewer.site_data.site_layout import Location, Mounting

SEVILLE = Location(37.4, -6.0, 20.0, "Europe/Madrid")
FIXED = Mounting(tilt=30.0, azimuth=180.0)


def test_clear_year_is_pvlibs() -> None:
    """pvlib's own Location and isotropic sky give the same sum within 1 %."""
    times = pd.date_range("2025-01-01 00:30", periods=8760, freq="h", tz="UTC")
    site = pvlib.location.Location(37.4, -6.0, altitude=20.0)
    sun = site.get_solarposition(times)
    sky = site.get_clearsky(times, model="simplified_solis")
    plane = pvlib.irradiance.get_total_irradiance(
        30.0, 180.0, sun["apparent_zenith"], sun["azimuth"],
        sky["dni"], sky["ghi"], sky["dhi"], albedo=0.2, model="isotropic",
    )  # fmt: skip
    ours = clear_year(SEVILLE, FIXED, stated_yield=None)
    assert ours.poa_global.sum() / 0.70 == pytest.approx(
        plane["poa_global"].fillna(0).sum(), rel=0.01
    )


def test_a_loss_that_goes_with_light_costs_its_share_of_the_stated_yield() -> None:
    """1 of 10 kW lost at 1000 W/m²: a tenth of 1700 kWh/kW over the performance ratio."""
    year = clear_year(SEVILLE, FIXED, stated_yield=1700.0, performance_ratio=0.8)
    lost = lost_energy({"low_current": 1000.0}, 1000.0, year)
    assert lost == pytest.approx(1700.0 / 0.8, rel=0.01)
    assert any("1700" in text for text in year.assumptions)


def test_each_loss_grows_with_light_in_its_own_way() -> None:
    """Four hours of a made year, by hand."""
    light = np.zeros(8760)
    light[:4] = [200.0, 400.0, 800.0, 1000.0]
    year = year_from_data(light, "made.csv")
    assert lost_energy({"step": 100.0}, 800.0, year) == pytest.approx(0.1 * 2400 / 800)
    squares = (200**2 + 400**2 + 800**2 + 1000**2) / 800**2
    assert lost_energy({"slope_near_voc": 100.0}, 800.0, year) == pytest.approx(0.1 * squares)
    assert lost_energy({"slope_near_isc": 100.0}, 800.0, year) == pytest.approx(0.4)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        (np.zeros(100), "100 values"),
        (np.full(8760, -1.0), "hour 1"),
        (np.where(np.arange(8760) == 41, np.nan, 1.0), "hour 42"),
    ],
)
def test_a_bad_typical_year_is_told(values: np.ndarray, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        year_from_data(values, "made.csv")


def test_cost_of_a_string() -> None:
    year = clear_year(SEVILLE, FIXED, stated_yield=1700.0, performance_ratio=0.8)
    result = made_result("C1", "S1", ratio=0.9, loss={"low_current": 400.0})
    cost = cost_of(result, 5000.0, year, price=0.10, currency="EUR")
    assert cost is not None
    assert cost.lost_at_stc == pytest.approx(result.translated.p_mp * (1.0 / 0.9 - 1.0))
    expected = 0.1 * result.predicted.p_mp / 0.8 * 1.7 / 0.8
    assert cost.lost_in_year == pytest.approx(expected, rel=0.02)
    assert cost.money == pytest.approx(0.1 * cost.lost_in_year)
    assert total([cost, cost]).lost_in_year == pytest.approx(2 * cost.lost_in_year)
    assert total([cost, cost]).assumptions == cost.assumptions


def test_power_at_stc_of_a_string_that_could_not_be_translated() -> None:
    result = replace(made_result("C1", "S1", ratio=0.9), translated=None)
    cost = cost_of(result, 5000.0, None)
    assert cost is not None
    assert cost.lost_at_stc == pytest.approx(500.0)


def test_without_a_location_power_only() -> None:
    cost = cost_of(made_result("C1", "S1", ratio=0.9), 5000.0, None, price=0.1)
    assert cost is not None
    assert cost.lost_in_year == 0.0
    assert cost.money is None
    assert any("location" in text for text in cost.assumptions)


def test_a_sound_string_costs_nothing() -> None:
    cost = cost_of(made_result("C1", "S1", ratio=1.02), 5000.0, None)
    assert cost is not None
    assert cost.lost_at_stc == 0.0


def test_without_mounting_the_modules_face_the_equator() -> None:
    south = clear_year(Location(-33.0, 20.0), None)
    north = clear_year(Location(33.0, 20.0), None)
    assert south.poa_global.sum() == pytest.approx(north.poa_global.sum(), rel=0.05)


def test_trackers_gather_more() -> None:
    axis = Mounting(tilt=0.0, azimuth=180.0, tracking=True)
    assert clear_year(SEVILLE, axis).poa_global.sum() > clear_year(SEVILLE, FIXED).poa_global.sum()


@pytest.mark.parametrize(("stated", "ratio"), [(0.0, 0.8), (1000.0, 0.0), (1000.0, 1.2)])
def test_impossible_yields_are_told(stated: float, ratio: float) -> None:
    with pytest.raises(ValueError, match="must be"):
        clear_year(SEVILLE, FIXED, stated, ratio)


def test_power_at_stc_is_the_same_in_lists_and_documents() -> None:
    """A list said 916 W, the report on the same string 919: one took the datasheet's power."""
    short = invented_result(loss=0.06, cause="soiling")
    cost = cost_of(short, 6_000.0, None)
    assert cost is not None
    assert cost.lost_at_stc == lost_at_standard(short)
    assert missing_in([short]).lost == cost.lost_at_stc > 0.0
    assert cost.lost_at_stc_uncertainty == lost_at_standard_uncertainty(short)
    assert missing_in([short]).expanded == cost.lost_at_stc_uncertainty > 0.0


def test_what_is_lost_is_as_uncertain_as_the_power_ratio() -> None:
    """The loss at the ends of the ratio's interval, by hand; as the list and the sum print it."""
    result = made_result("C1", "S1", ratio=0.9, loss={"low_current": 400.0}, uncertainty=0.003)
    at_most, at_least = (result.translated.p_mp * (1.0 / (0.9 + e) - 1.0) for e in (-0.003, 0.003))
    cost = cost_of(result, 5000.0, None)
    assert cost is not None
    assert cost.lost_at_stc_uncertainty == pytest.approx((at_most - at_least) / 2.0, rel=1e-3)
    assert total([cost, cost]).lost_at_stc_uncertainty == 2.0 * cost.lost_at_stc_uncertainty
    without = replace(result, power_ratio_uncertainty=None)
    unknown = cost_of(without, 5000.0, None)
    assert unknown is not None
    assert unknown.lost_at_stc_uncertainty is None
    assert total([cost, unknown]).lost_at_stc_uncertainty is None


@pytest.mark.parametrize(("rated", "expected"), [(5000.0, 150.0), (None, 0.03 * 4500.0 / 0.8)])
def test_uncertainty_of_a_string_that_could_not_be_translated(rated, expected) -> None:
    cost = cost_of(replace(made_result("C1", "S1", ratio=0.9), translated=None), rated, None)
    assert cost is not None
    assert cost.lost_at_stc_uncertainty == pytest.approx(expected)
