"""Where the sun stood at each trace, all traces of a site in one evaluation."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
from numpy.typing import NDArray

from viewer.physics.sun_position import (
    SunPosition,
    incidence_angle,
    sun_position,
    tracker_orientation,
)
from viewer.site_data.iv_trace import Trace
from viewer.site_data.site_layout import Mounting, SiteLayout


@dataclass(frozen=True)
class SunAtTrace:
    """Elevation above the horizon and angle to the modules' normal [degrees]; None: unknown."""

    elevation: float | None = None
    incidence: float | None = None


def sun_at_traces(traces: Sequence[Trace], layout: SiteLayout | None) -> list[SunAtTrace]:
    """The sun at each trace; unknown where the time, its zone or the location is.

    A time without a zone is taken in the site's zone. Incidence needs the site's mounting.
    """
    found = [SunAtTrace()] * len(traces)
    if layout is None or layout.location is None:
        return found
    place = layout.location
    moments = {k: _in_zone(trace.measured_at, place.timezone) for k, trace in enumerate(traces)}
    timed = {k: moment for k, moment in moments.items() if moment is not None}
    if not timed:
        return found
    sun = sun_position(list(timed.values()), place.latitude, place.longitude, place.altitude)
    incidence = _incidence(sun, layout.mounting)
    for row, k in enumerate(timed):
        angle = None if incidence is None else float(incidence[row])
        if angle is not None and np.isnan(angle):
            angle = None
        found[k] = SunAtTrace(float(sun.elevation[row]), angle)
    return found


def _incidence(sun: SunPosition, mounting: Mounting | None) -> NDArray[np.float64] | None:
    if mounting is None:
        return None
    if not mounting.tracking:
        return incidence_angle(sun, mounting.tilt, mounting.azimuth)
    tilt, azimuth = tracker_orientation(
        sun, mounting.tilt, mounting.azimuth, mounting.max_angle, mounting.ground_coverage_ratio
    )
    return incidence_angle(sun, tilt, azimuth)


def _in_zone(when: datetime | None, zone: str | None) -> datetime | None:
    """The moment with its time zone: its own, or the site's for a time without one."""
    if when is None or when.tzinfo is not None:
        return when
    if not zone:
        return None
    try:
        return when.replace(tzinfo=ZoneInfo(zone))
    except (ZoneInfoNotFoundError, ValueError):
        return None
