"""When the sun at a site is good enough to trace: irradiance, incidence, cell temperature.

pvlib does the sun: NREL's solar position algorithm, the Ineichen clear sky with its Linke
turbidity climatology, single-axis tracking, Hay-Davies transposition and Faiman's module
temperature. A clear sky is assumed: clouds decide on the day.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.conditions.condition_thresholds import ConditionThresholds
from viewer.site_data.site_layout import Location, Mounting

if TYPE_CHECKING:
    import pandas as pd

MONTHS = 12
HOURS = 24


@dataclass(frozen=True)
class HourNeeds:
    """What makes an hour good: the thresholds that the sweep's own conditions are held against."""

    irradiance_min: float = ConditionThresholds.irradiance_for_power or 0.0
    """W/m² in the plane."""
    incidence_max: float = ConditionThresholds.incidence_angle or 90.0
    """Degrees from the module's normal; beyond, reflection grows."""


@dataclass(frozen=True)
class TypicalWeather:
    """Air temperature [°C] and wind speed [m/s], one value or one for each month."""

    temperature_air: float | Sequence[float] = 20.0
    wind_speed: float | Sequence[float] = 1.0


@dataclass(frozen=True, eq=False)
class SunHours:
    """The clear-sky course over the asked days; arrays of one length."""

    times: "pd.DatetimeIndex"
    """In the site's local time."""
    poa_global: NDArray[np.float64]
    incidence: NDArray[np.float64]
    temperature_cell: NDArray[np.float64]
    good: NDArray[np.bool_]
    assumptions: tuple[str, ...]


@dataclass(frozen=True)
class DayWindow:
    """The longest good stretch of one day in local time; both ends None when there is none."""

    day: date
    start: datetime | None
    end: datetime | None
    poa_global_max: float
    temperature_cell_mean: float | None

    @property
    def hours(self) -> float:
        if self.start is None or self.end is None:
            return 0.0
        return (self.end - self.start) / timedelta(hours=1)


def share_by_month_and_hour(courses: Sequence[SunHours]) -> NDArray[np.float64]:
    """Share of the steps that are good, shape (12, 24); NaN where no step was asked for."""
    asked, good = np.zeros(MONTHS * HOURS), np.zeros(MONTHS * HOURS)
    for course in courses:
        slot = (np.asarray(course.times.month) - 1) * HOURS + np.asarray(course.times.hour)
        asked += np.bincount(slot, minlength=MONTHS * HOURS)
        good += np.bincount(slot, weights=course.good, minlength=MONTHS * HOURS)
    with np.errstate(invalid="ignore"):
        return (good / asked).reshape(MONTHS, HOURS)


def time_zone(location: Location) -> ZoneInfo:
    """The site's zone. Raises ValueError with one sentence when it is missing or unknown."""
    if not location.timezone:
        raise ValueError(
            "the site has no time zone: add timezone to [location] of site.toml, "
            "for example Europe/Madrid"
        )
    try:
        return ZoneInfo(location.timezone)
    except (ZoneInfoNotFoundError, ValueError):
        raise ValueError(
            f"there is no time zone called {location.timezone!r}: use an IANA name "
            "such as Europe/Madrid"
        ) from None


def _by_month(value: float | Sequence[float], months: NDArray[np.int_]) -> NDArray[np.float64]:
    values = np.atleast_1d(np.asarray(value, dtype=float))
    if values.size == 1:
        return np.full(months.shape, values[0])
    if values.size != MONTHS:
        raise ValueError(f"typical weather takes one value or twelve, not {values.size}")
    return values[months - 1]


def _orientation(mounting: Mounting, sun: "pd.DataFrame") -> tuple[NDArray, NDArray]:
    """Tilt and azimuth of the modules at each moment [degrees]."""
    import pvlib  # not above: it is slow to load, and the window starts without it

    if not mounting.tracking:
        return np.full(len(sun), mounting.tilt), np.full(len(sun), mounting.azimuth)
    turned = pvlib.tracking.singleaxis(
        sun["apparent_zenith"],
        sun["azimuth"],
        axis_tilt=mounting.tilt,
        axis_azimuth=mounting.azimuth,
        max_angle=mounting.max_angle,
        backtrack=True,
        gcr=mounting.ground_coverage_ratio,
    )
    return (
        np.nan_to_num(turned["surface_tilt"].to_numpy()),
        np.nan_to_num(turned["surface_azimuth"].to_numpy()),
    )


def sun_hours(
    location: Location,
    mounting: Mounting,
    first_day: date,
    last_day: date,
    needs: HourNeeds | None = None,
    weather: TypicalWeather | None = None,
    minutes: int = 15,
) -> SunHours:
    """The clear-sky course from the start of `first_day` to the end of `last_day`.

    Days begin and end at local midnight, so a day of 23 or 25 hours has that many.
    Raises ValueError for a missing or unknown time zone, or days in the wrong order.
    """
    import pandas as pd  # neither above: they are slow to load, and the window starts
    import pvlib  # without them

    if last_day < first_day:
        raise ValueError(f"the last day, {last_day}, lies before the first, {first_day}")
    needs, weather = needs or HourNeeds(), weather or TypicalWeather()
    zone = time_zone(location)
    times = pd.date_range(
        pd.Timestamp(first_day).tz_localize(zone),
        pd.Timestamp(last_day + timedelta(days=1)).tz_localize(zone),
        freq=f"{minutes}min",
        inclusive="left",
    )
    place = pvlib.location.Location(
        location.latitude, location.longitude, tz=str(zone), altitude=location.altitude
    )
    sun = place.get_solarposition(times)
    sky = place.get_clearsky(times, model="ineichen", solar_position=sun)
    tilt, azimuth = _orientation(mounting, sun)
    incidence = pvlib.irradiance.aoi(tilt, azimuth, sun["apparent_zenith"], sun["azimuth"])
    poa_global = pvlib.irradiance.get_total_irradiance(
        tilt,
        azimuth,
        sun["apparent_zenith"],
        sun["azimuth"],
        sky["dni"],
        sky["ghi"],
        sky["dhi"],
        dni_extra=pvlib.irradiance.get_extra_radiation(times),
        model="haydavies",
    )["poa_global"].fillna(0.0)
    months = np.asarray(times.month)
    temperature_cell = pvlib.temperature.faiman(
        poa_global.to_numpy(),
        _by_month(weather.temperature_air, months),
        _by_month(weather.wind_speed, months),
    )
    incidence = np.asarray(incidence, dtype=float)
    up = np.asarray(sun["apparent_elevation"]) > 0
    good = up & (poa_global.to_numpy() >= needs.irradiance_min) & (incidence <= needs.incidence_max)
    return SunHours(
        times,
        poa_global.to_numpy(),
        incidence,
        np.asarray(temperature_cell, dtype=float),
        good,
        (
            "clear sky (Ineichen, pvlib's turbidity climatology); clouds decide on the day",
            f"good: at least {needs.irradiance_min:g} W/m² in the plane and at most "
            f"{needs.incidence_max:g}° from the module's normal",
            "cell temperature after Faiman from the typical air temperature and wind given",
        ),
    )


def day_windows(course: SunHours) -> tuple[DayWindow, ...]:
    """The longest good stretch of each day of the course."""
    days = np.asarray(course.times.date)
    return tuple(_window(course, day, np.flatnonzero(days == day)) for day in np.unique(days))


def _window(course: SunHours, day: date, steps: NDArray[np.int_]) -> DayWindow:
    good = course.good[steps].astype(np.int8)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], good, [0]))))
    poa_max = float(course.poa_global[steps].max())
    if edges.size == 0:
        return DayWindow(day, None, None, poa_max, None)
    starts, ends = edges[::2], edges[1::2]
    longest = int(np.argmax(ends - starts))
    inside = steps[starts[longest] : ends[longest]]
    step = course.times[1] - course.times[0]
    return DayWindow(
        day,
        course.times[inside[0]].to_pydatetime(),
        (course.times[inside[-1]] + step).to_pydatetime(),
        poa_max,
        float(course.temperature_cell[inside].mean()),
    )
