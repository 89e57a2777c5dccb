"""What a loss seen in one sweep costs: power at STC, and energy in a year, with assumptions.

A loss changes with irradiance in its own way: a missing current or voltage costs in proportion
to the light, a series resistance with its square, a leak hardly at all. The year's light comes
from hourly values the user gives, or from a clear sky (pvlib, simplified Solis) scaled so that a
sound plant reaches the stated yield.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.analysis.losses.lost_power import lost_at_standard, lost_at_standard_uncertainty
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.conditions import IRRADIANCE_REF
from viewer.physics.nomenclature import counted
from viewer.physics.sun_position import (
    SunPosition,
    incidence_angle,
    sun_position,
    tracker_orientation,
)
from viewer.site_data.site_layout import Location, Mounting

Array = NDArray[np.float64]

LIGHT_POWER: Mapping[str, float] = {
    "low_current": 1.0,
    "low_voltage": 1.0,
    "step": 1.0,
    "rounded_knee": 1.0,
    "slope_near_voc": 2.0,
    "slope_near_isc": 0.0,
}
"""With which power of irradiance the loss of each signature grows (from the diode equation)."""
PERFORMANCE_RATIO = 0.80
"""Of a sound plant, where nothing is stated (common practice, no source)."""
CLEAR_SHARE = 0.70
"""Share of a clear year's light that arrives, where no yield is stated (no source)."""
LEAST_LIGHT = 50.0
"""Below this irradiance [W/m²] inverters hardly work, so nothing is counted (judgement)."""
ENERGY_UNCERTAINTY = (
    "Energy has no ±: it is uncertain at least in proportion to the power, and the year's light "
    "is assumed."
)
YEAR = 2025
HOURS = 8760


@dataclass(frozen=True, eq=False)
class YearOfLight:
    """Hourly irradiance in the module plane [W/m²] of one year, and where it comes from."""

    poa_global: Array
    assumptions: tuple[str, ...]

    @cached_property
    def light_sums(self) -> dict[float, float]:
        """Sum over the year of each power of LIGHT_POWER of irradiance [W/m²], weak light out."""
        light = self.poa_global[self.poa_global >= LEAST_LIGHT]
        return {k: float(np.sum(light**k)) for k in set(LIGHT_POWER.values())}


@dataclass(frozen=True)
class EnergyCost:
    """lost_at_stc [W]; lost_in_year [kWh]; money in `currency`, None without a price.

    lost_at_stc_uncertainty: expanded (k = 2) [W], None where it is not known. Energy has none: the
    year's light that it is told for is an assumption.
    """

    lost_at_stc: float
    lost_in_year: float
    money: float | None
    currency: str
    assumptions: tuple[str, ...]
    lost_at_stc_uncertainty: float | None = None


def year_from_data(poa_global: ArrayLike, source: str) -> YearOfLight:
    """A typical year the user gives: 8760 (or 8784) hourly values [W/m²], none negative."""
    values = np.asarray(poa_global, dtype=float)
    if values.size not in (HOURS, HOURS + 24):
        raise ValueError(
            f"The typical year in {source} has {counted(values.size, 'value')}; give one for "
            "every hour of a year, 8760 or 8784."
        )
    if not np.all(np.isfinite(values)) or values.min() < 0.0:
        place = int(np.flatnonzero(~np.isfinite(values) | (values < 0.0))[0])
        raise ValueError(
            f"The typical year in {source} has no usable irradiance in hour {place + 1}; "
            "every hour needs a number of 0 W/m² or more."
        )
    return YearOfLight(values, (f"Irradiance of a typical year from {source}.",))


def clear_year(
    location: Location,
    mounting: Mounting | None = None,
    stated_yield: float | None = None,
    performance_ratio: float = PERFORMANCE_RATIO,
) -> YearOfLight:
    """A clear year in the module plane, scaled to the stated yield [kWh per kW at STC].

    Without mounting the modules are taken to face the equator at the latitude's angle, at most
    35 degrees. Raises ValueError for a yield or performance ratio that is not positive.
    """
    if stated_yield is not None and stated_yield <= 0.0:
        raise ValueError("The stated yield must be a positive number of kWh per kW and year.")
    if not 0.0 < performance_ratio <= 1.0:
        raise ValueError("The performance ratio must be above 0 and at most 1.")
    poa, how = _clear_plane(location, mounting)
    in_year = float(poa.sum()) / 1000.0
    if stated_yield is None:
        scale = CLEAR_SHARE
        said = f"{100 * CLEAR_SHARE:.0f} % of it arrives (no yield was stated; an assumption)."
    else:
        scale = stated_yield / performance_ratio / in_year
        said = (
            f"It is scaled to {stated_yield:.0f} kWh a year per kW at a performance ratio of "
            f"{performance_ratio:.2f}."
        )
    return YearOfLight(poa * scale, (f"Clear-sky irradiance, {how} ({in_year:.0f} kWh/m²).", said))


def _clear_plane(location: Location, mounting: Mounting | None) -> tuple[Array, str]:
    import pvlib  # not above: it is slow to load, and the window starts without it

    start = datetime(YEAR, 1, 1, 0, 30, tzinfo=UTC)
    times = [start + timedelta(hours=k) for k in range(HOURS)]
    sun = sun_position(times, location.latitude, location.longitude, location.altitude)
    up = np.maximum(sun.elevation, 0.0)
    pressure = float(pvlib.atmosphere.alt2pres(location.altitude))
    sky = pvlib.clearsky.simplified_solis(up, pressure=pressure)
    components = (np.asarray(sky["ghi"]), np.asarray(sky["dni"]), np.asarray(sky["dhi"]))
    return _in_plane(components, sun, location, mounting)


def year_from_sky(
    times: Sequence[datetime],
    components: Sequence[Array],
    location: Location,
    mounting: Mounting | None,
    source: str,
) -> YearOfLight:
    """A typical year of ghi, dni and dhi [W/m²] brought into the module plane.

    `times` are the middles of the hours, with their zone. Raises ValueError as `year_from_data`.
    """
    sun = sun_position(times, location.latitude, location.longitude, location.altitude)
    poa, how = _in_plane(components, sun, location, mounting)
    year = year_from_data(poa, source)
    return YearOfLight(year.poa_global, (f"Sky of a typical year from {source}, {how}.",))


def _in_plane(
    components: Sequence[Array],
    sun: SunPosition,
    location: Location,
    mounting: Mounting | None,
) -> tuple[Array, str]:
    """Irradiance in the module plane: isotropic sky, a ground that reflects a fifth."""
    ghi, dni, dhi = components
    tilt, azimuth, how = _orientation(location, mounting, sun)
    aoi = incidence_angle(sun, tilt, azimuth)
    direct = dni * np.maximum(np.cos(np.radians(aoi)), 0.0)
    seen = (1.0 + np.cos(np.radians(tilt))) / 2.0
    poa = direct + dhi * seen + 0.2 * ghi * (1.0 - seen)
    return np.where(sun.elevation > 0.0, np.nan_to_num(poa), 0.0), how


def _orientation(
    location: Location, mounting: Mounting | None, sun: SunPosition
) -> tuple[ArrayLike, ArrayLike, str]:
    if mounting is None:
        slope = min(abs(location.latitude), 35.0)
        azimuth = 180.0 if location.latitude >= 0.0 else 0.0
        return slope, azimuth, f"modules taken to face the equator at {slope:.0f}°"
    if not mounting.tracking:
        return mounting.tilt, mounting.azimuth, "modules mounted as the site says"
    tilts, azimuths = tracker_orientation(
        sun,
        mounting.tilt,
        mounting.azimuth,
        mounting.max_angle,
        mounting.ground_coverage_ratio,
    )
    return np.nan_to_num(tilts), np.nan_to_num(azimuths), "modules on the site's trackers"


def lost_energy(losses: Mapping[str, float], irradiance: float, year: YearOfLight) -> float:
    """Energy lost in the year [kWh] from losses [W] by signature kind, seen at `irradiance`."""
    if irradiance <= 0.0:
        raise ValueError("The irradiance of the sweep must be positive.")
    hours = {k: light / irradiance**k for k, light in year.light_sums.items()}
    return sum(loss * hours[LIGHT_POWER.get(kind, 1.0)] for kind, loss in losses.items()) / 1000.0


def losses_by_kind(result: TraceResult) -> dict[str, float]:
    """W that each kind of signature costs at the sweep's conditions, as its texts say."""
    losses: dict[str, float] = {}
    for signature in result.signatures:
        loss = signature.details.get("loss")
        if isinstance(loss, int | float) and loss > 0:
            losses[signature.kind] = losses.get(signature.kind, 0.0) + float(loss)
    return losses


def cost_of(
    result: TraceResult,
    rated_power: float | None,
    year: YearOfLight | None,
    price: float | None = None,
    currency: str = "",
) -> EnergyCost | None:
    """What a string's shortfall costs; None where nothing is predicted.

    `rated_power` [W] is the string's at STC, `price` that of one kWh. Irradiance and temperature
    readings found suspect cost nothing: they are no loss.
    """
    if result.power_ratio is None or result.predicted is None:
        return None
    irradiance = result.conditions.poa_global
    if irradiance is None or irradiance <= 0.0:
        return None
    lost_here = max(result.predicted.p_mp - result.measured.p_mp, 0.0)
    losses = losses_by_kind(result)
    explained = sum(losses.values())
    if explained > 0.0 and lost_here > 0.0:
        losses = {kind: loss * lost_here / explained for kind, loss in losses.items()}
    elif lost_here > 0.0:
        losses = {"low_current": lost_here}
    assumptions = [
        "The whole shortfall against the prediction is counted, shared among the signatures.",
        "The loss grows with irradiance as each signature's physics says.",
    ]
    missing = lost_at_standard(result)
    spread = lost_at_standard_uncertainty(result)
    ratio_spread = result.power_ratio_uncertainty
    if missing is not None:
        at_stc = max(missing, 0.0)
    elif rated_power is not None:
        at_stc = max(1.0 - result.power_ratio, 0.0) * rated_power
        spread = None if ratio_spread is None else ratio_spread * rated_power
    else:
        scale = IRRADIANCE_REF / irradiance
        at_stc = lost_here * scale
        spread = None if ratio_spread is None else ratio_spread * result.predicted.p_mp * scale
        assumptions.append("Power at STC is scaled by irradiance alone.")
    lost = 0.0
    if year is None:
        assumptions.append("No energy is estimated: the site's location is not known.")
    else:
        lost = lost_energy(losses, irradiance, year)
        assumptions += [*year.assumptions, ENERGY_UNCERTAINTY]
    money = None if price is None or year is None else lost * price
    return EnergyCost(at_stc, lost, money, currency, tuple(assumptions), spread)


def total(costs: Sequence[EnergyCost]) -> EnergyCost:
    """Several costs as one; their assumptions once each. Raises ValueError for none.

    Errors of irradiance and of the datasheet move all strings alike, so that uncertainties are
    added up, which is never too little.
    """
    if not costs:
        raise ValueError("There is nothing to add up.")
    seen = dict.fromkeys(text for cost in costs for text in cost.assumptions)
    known = [cost.money for cost in costs if cost.money is not None]
    spreads = [spread for one in costs if (spread := one.lost_at_stc_uncertainty) is not None]
    return EnergyCost(
        sum(cost.lost_at_stc for cost in costs),
        sum(cost.lost_in_year for cost in costs),
        sum(known) if known else None,
        costs[0].currency,
        tuple(seen),
        sum(spreads) if len(spreads) == len(costs) else None,
    )
