"""Where the sun stood and how obliquely it met the modules (NREL's algorithm, in pvlib)."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

DELTA_T = 69.2
"""Terrestrial minus universal time, s; of 2020-2026 within a second, worth 0.0003° here."""

AIR_TEMPERATURE = 12.0
"""°C of the air that refracts the light; pvlib's default, a tenth of a degree at sunset at most."""

REFRACTION_AT_HORIZON = 0.5667
"""Degrees by which the air lifts a sun that rises or sets; the algorithm's own value."""


@dataclass(frozen=True, eq=False)
class SunPosition:
    """Angles in degrees, arrays of one length: elevation above the horizon with refraction,
    azimuth clockwise from north."""

    elevation: Array
    azimuth: Array


def sun_position(
    times: Sequence[datetime], latitude: float, longitude: float, altitude: float = 0.0
) -> SunPosition:
    """The sun at each of `times`, which carry their time zone. Raises ValueError if one does not.

    Latitude [degrees north], longitude [degrees east], altitude [m].
    """
    import pvlib  # not above: it is slow to load, and the window starts without it

    for one in times:
        if one.tzinfo is None:
            raise ValueError(f"{one} has no time zone, so the sun's position is not defined.")
    seconds = np.array([one.timestamp() for one in times], dtype=float)
    pressure = float(pvlib.atmosphere.alt2pres(altitude)) / 100.0
    found = pvlib.spa.solar_position(
        seconds,
        latitude,
        longitude,
        altitude,
        pressure,
        AIR_TEMPERATURE,
        DELTA_T,
        REFRACTION_AT_HORIZON,
    )
    return SunPosition(found[2], found[4])


def tracker_orientation(
    sun: SunPosition,
    axis_tilt: float,
    axis_azimuth: float,
    max_angle: float,
    ground_coverage_ratio: float,
) -> tuple[Array, Array]:
    """Tilt and azimuth [degrees] of modules on a backtracking single axis; NaN at night."""
    import pvlib  # not above: it is slow to load, and the window starts without it

    turned = pvlib.tracking.singleaxis(
        90.0 - sun.elevation,
        sun.azimuth,
        axis_tilt=axis_tilt,
        axis_azimuth=axis_azimuth,
        max_angle=max_angle,
        backtrack=True,
        gcr=ground_coverage_ratio,
    )
    return (
        np.asarray(turned["surface_tilt"], dtype=float),
        np.asarray(turned["surface_azimuth"], dtype=float),
    )


def incidence_angle(sun: SunPosition, tilt: ArrayLike, azimuth: ArrayLike) -> Array:
    """Angle [degrees] between the sun and the normal of modules at `tilt` facing `azimuth`."""
    import pvlib  # not above: it is slow to load, and the window starts without it

    found = pvlib.irradiance.aoi(tilt, azimuth, 90.0 - sun.elevation, sun.azimuth)
    return np.asarray(found, dtype=float)
