"""`curvewright hours`: when the sun at the site is good enough to trace."""

import argparse
import json
from collections.abc import Sequence
from datetime import date

import numpy as np

from viewer.analysis.before_visit.good_hours import (
    DayWindow,
    HourNeeds,
    SunHours,
    TypicalWeather,
    day_windows,
    share_by_month_and_hour,
    sun_hours,
)
from viewer.analysis.conditions.condition_thresholds import ConditionThresholds
from viewer.app.commands.argument_types import MOST_IRRADIANCE, day, number, temperature
from viewer.app.commands.complaints import complain
from viewer.app.commands.site_results import add_settings
from viewer.reading.visits.open_layout import LayoutError, open_layout
from viewer.reports.plain_table import aligned
from viewer.site_data.site_layout import Location, Mounting
from viewer.state.program.chosen_settings import chosen_settings

USUAL = ConditionThresholds()
MONTH_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
EARLIEST, LATEST = date(1950, 1, 1), date(2150, 12, 31)
MOST_DAYS = 366
_DAYS_CHARTED = 60


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("source", metavar="FOLDER", help="folder with a site.toml, or site file")
    parser.add_argument("--from", dest="first", type=day, required=True)
    parser.add_argument("--to", dest="last", type=day, help="default: same day")
    parser.add_argument(
        "--tilt", type=number(0, 90), help="degrees, where site.toml has no [mounting]"
    )
    parser.add_argument("--azimuth", type=number(-360, 360), help="degrees clockwise from north")
    parser.add_argument("--tracker", action="store_true", help="tilt and azimuth are of the axis")
    parser.add_argument(
        "--least",
        type=number(0, MOST_IRRADIANCE),
        help=f"W/m² in the plane (default: for power, {USUAL.irradiance_for_power:g} unless "
        "--settings says otherwise)",
    )
    parser.add_argument(
        "--incidence",
        type=number(0, 90),
        help=f"largest angle, degrees (default: {USUAL.incidence_angle:g} unless --settings says "
        "otherwise)",
    )
    add_settings(parser)
    air, wind = temperature, number(0, 60)
    parser.add_argument("--air", type=air, nargs="+", default=[20.0], help="°C, one or twelve")
    parser.add_argument("--wind", type=wind, nargs="+", default=[1.0], help="m/s, one or twelve")
    parser.add_argument("--json", action="store_true", help="print JSON")


def run(arguments: argparse.Namespace) -> int:
    try:
        location, mounting = _place(arguments)
        course = sun_hours(
            location,
            mounting,
            *_days(arguments),
            _needs(arguments),
            TypicalWeather(arguments.air, arguments.wind),
        )
    except (LayoutError, ValueError) as error:
        complain("hours", str(error))
        return 2
    windows = day_windows(course)
    if arguments.json:
        print(json.dumps(_as_json(course, windows), ensure_ascii=False))
    else:
        _print_words(course, windows)
    return 0


def _days(arguments: argparse.Namespace) -> tuple[date, date]:
    """First and last day. Raises ValueError with one sentence."""
    first, last = arguments.first, arguments.last or arguments.first
    if first < EARLIEST or last > LATEST:
        raise ValueError(f"the days must lie from {EARLIEST} to {LATEST}")
    if (last - first).days >= MOST_DAYS:
        raise ValueError(f"{first} to {last} is too long: ask for {MOST_DAYS} days or fewer")
    return first, last


def _needs(arguments: argparse.Namespace) -> HourNeeds:
    """By the options, else by the thresholds of the settings; one that is off asks for nothing."""
    limits = chosen_settings(arguments.settings).inputs.thresholds
    least, angle = arguments.least, arguments.incidence
    if least is None:
        least = limits.irradiance_for_power or 0.0
    if angle is None:
        angle = 90.0 if limits.incidence_angle is None else limits.incidence_angle
    return HourNeeds(least, angle)


def _place(arguments: argparse.Namespace) -> tuple[Location, Mounting]:
    layout, _ = open_layout(arguments.source)
    if layout.location is None:
        raise ValueError("site.toml has no [location]: add latitude, longitude and timezone")
    if arguments.tilt is not None and arguments.azimuth is not None:
        return layout.location, Mounting(arguments.tilt, arguments.azimuth, arguments.tracker)
    if layout.mounting is None:
        raise ValueError(
            "site.toml has no [mounting]: add tilt and azimuth there, or give --tilt and --azimuth"
        )
    return layout.location, layout.mounting


def _as_json(course: SunHours, windows: Sequence[DayWindow]) -> dict[str, object]:
    share = share_by_month_and_hour([course])
    return {
        "assumptions": list(course.assumptions),
        "days": [
            {
                "day": window.day.isoformat(),
                "start": window.start.isoformat() if window.start else None,
                "end": window.end.isoformat() if window.end else None,
                "poa_global_max": window.poa_global_max,
                "temperature_cell_mean": window.temperature_cell_mean,
            }
            for window in windows
        ],
        "share_by_month_and_hour": [
            [None if np.isnan(x) else float(x) for x in month] for month in share
        ],
    }


def _print_words(course: SunHours, windows: Sequence[DayWindow]) -> None:
    if len(windows) < _DAYS_CHARTED:
        rows = [_day_row(window) for window in windows]
        headings = ("Day", "From", "To", "Hours", "Highest W/m²", "Cell °C")
        for line in aligned(headings, rows, set(headings[3:])):
            print(line)
    else:
        _print_chart(course)
    print()
    for sentence in course.assumptions:
        print(f"Assumed: {sentence}.")


def _day_row(window: DayWindow) -> tuple[str, ...]:
    highest = f"{window.poa_global_max:.0f}"
    if window.start is None or window.end is None or window.temperature_cell_mean is None:
        return (window.day.isoformat(), "none", "", "0.0", highest, "–")
    return (
        window.day.isoformat(),
        f"{window.start:%H:%M}",
        f"{window.end:%H:%M}",
        f"{window.hours:.1f}",
        highest,
        f"{window.temperature_cell_mean:.0f}",
    )


def _print_chart(course: SunHours) -> None:
    """Percent of each hour's steps that are good, months down, hours across."""
    share = share_by_month_and_hour([course])
    hours = [hour for hour in range(24) if np.nansum(share[:, hour]) > 0]
    headings = ("Good % at", *(f"{hour:02d}" for hour in hours))
    rows = [
        (MONTH_NAMES[month], *(f"{100 * share[month, hour]:.0f}" for hour in hours))
        for month in range(12)
        if not np.isnan(share[month]).all()
    ]
    for line in aligned(headings, rows, set(headings[1:])):
        print(line)
