"""Sun, cloud and cell temperature of the invented visits, by pvlib."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pvlib


@dataclass(frozen=True)
class Moment:
    """What is true at one trace: irradiance [W/m²], temperatures [°C], wind [m/s]."""

    measured_at: datetime
    poa_global: float
    temperature_cell: float
    temperature_module: float
    temperature_air: float
    wind_speed: float


def moments(
    plan: dict[str, Any], visit: dict[str, Any], count: int, rng: np.random.Generator
) -> list[Moment]:
    """Conditions of `count` traces taken one after the other on a clear day."""
    where = plan["location"]
    zone = ZoneInfo(where["timezone"])
    start = datetime.fromisoformat(visit["starts"]).replace(tzinfo=zone)
    pace = timedelta(minutes=visit["minutes_apart"])
    times = [start + n * pace + timedelta(seconds=int(rng.integers(-25, 25))) for n in range(count)]
    sun = _clear_sky(plan, pd.DatetimeIndex(times)) * (1 + 0.01 * _wander(count, rng))
    air = visit["temperature_air"] + np.linspace(0, 3.0, count) + 0.4 * _wander(count, rng)
    wind = np.clip(2.0 + 1.2 * _wander(count, rng), 0.3, None)
    # King, Boyson and Kratochvill, SAND2004-3535: open rack, glass and polymer sheet.
    back = pvlib.temperature.sapm_module(sun, air, wind, a=-3.56, b=-0.075)
    cell = back + 3.0 * sun / 1000
    return [
        Moment(t, *(float(x) for x in row))
        for t, row in zip(
            times, np.column_stack([sun, cell, back, air, wind]).tolist(), strict=True
        )
    ]


def _clear_sky(plan: dict[str, Any], times: pd.DatetimeIndex) -> np.ndarray:
    where, array = plan["location"], plan["array"]
    place = pvlib.location.Location(
        where["latitude"], where["longitude"], where["timezone"], where["altitude"]
    )
    sky = place.get_clearsky(times, model="ineichen", linke_turbidity=3.2)
    sun = place.get_solarposition(times)
    total = pvlib.irradiance.get_total_irradiance(
        array["tilt"],
        array["azimuth"],
        sun["apparent_zenith"],
        sun["azimuth"],
        sky["dni"],
        sky["ghi"],
        sky["dhi"],
    )
    return total["poa_global"].to_numpy()


def _wander(count: int, rng: np.random.Generator) -> np.ndarray:
    """A slow random walk held near zero, standard deviation about one."""
    steps = rng.normal(size=count)
    value, out = 0.0, []
    for step in steps:
        value = 0.85 * value + 0.527 * step
        out.append(value)
    return np.array(out)
