"""Good hours of a day: windows, trackers, daylight saving."""

from datetime import date

import numpy as np
import pytest

from viewer.analysis.before_visit.good_hours import (
    HourNeeds,
    TypicalWeather,
    day_windows,
    share_by_month_and_hour,
    sun_hours,
    time_zone,
)
from viewer.site_data.site_layout import Location, Mounting

MADRID = Location(40.4, -3.7, 650.0, "Europe/Madrid")
FIXED = Mounting(tilt=30.0, azimuth=180.0)


def test_window_lies_around_solar_noon() -> None:
    course = sun_hours(MADRID, FIXED, date(2025, 6, 21), date(2025, 6, 21))
    (window,) = day_windows(course)
    assert window.start is not None
    assert window.end is not None
    # Solar noon at 3.7° west in summer time (UTC+2) is about 14:17.
    middle = window.start + (window.end - window.start) / 2
    assert 13.9 < middle.hour + middle.minute / 60 < 14.7
    assert 2 < window.hours < 9


def test_winter_day_at_high_latitude_has_none() -> None:
    course = sun_hours(
        Location(64.0, 20.0, 0.0, "Europe/Stockholm"), FIXED, date(2025, 12, 21), date(2025, 12, 21)
    )
    (window,) = day_windows(course)
    assert window.start is None
    assert window.hours == 0.0


@pytest.mark.parametrize(("day", "hours"), [((2025, 3, 30), 23), ((2025, 10, 26), 25)])
def test_days_of_clock_change(day: tuple[int, int, int], hours: int) -> None:
    course = sun_hours(MADRID, FIXED, date(*day), date(*day), minutes=60)
    assert len(course.times) == hours


def test_tracker_has_the_longer_window() -> None:
    needs = HourNeeds(irradiance_min=700, incidence_max=30)
    fixed, tracked = (
        day_windows(sun_hours(MADRID, mounting, date(2025, 6, 21), date(2025, 6, 21), needs))[0]
        for mounting in (FIXED, Mounting(0.0, 180.0, tracking=True))
    )
    assert tracked.hours > fixed.hours + 2


def test_share_by_month_and_hour() -> None:
    course = sun_hours(MADRID, FIXED, date(2025, 6, 1), date(2025, 6, 3))
    share = share_by_month_and_hour([course])
    assert share.shape == (12, 24)
    assert share[5, 14] == 1.0
    assert share[5, 2] == 0.0
    assert np.isnan(share[0]).all()


def test_monthly_weather_moves_cell_temperature() -> None:
    cold = TypicalWeather([0.0] * 12, 1.0)
    warm = TypicalWeather([30.0] * 12, 1.0)
    first, second = (
        sun_hours(MADRID, FIXED, date(2025, 6, 21), date(2025, 6, 21), weather=w)
        for w in (cold, warm)
    )
    assert np.allclose(second.temperature_cell - first.temperature_cell, 30.0)


def test_wrong_input_in_one_sentence() -> None:
    with pytest.raises(ValueError, match="no time zone called 'Mars/Base'"):
        time_zone(Location(0, 0, 0, "Mars/Base"))
    with pytest.raises(ValueError, match="add timezone"):
        time_zone(Location(0, 0, 0, None))
    with pytest.raises(ValueError, match="lies before"):
        sun_hours(MADRID, FIXED, date(2025, 6, 2), date(2025, 6, 1))
    with pytest.raises(ValueError, match="one value or twelve"):
        sun_hours(
            MADRID, FIXED, date(2025, 6, 1), date(2025, 6, 1), weather=TypicalWeather([1.0, 2.0])
        )
