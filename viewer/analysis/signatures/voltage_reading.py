"""What a deviating open-circuit voltage may mean: lost groups, a wrong temperature, or nothing.

A bypassed, shorted or missing group takes a whole number of groups' voltage; a wrong cell
temperature takes any amount, of either sign. The explanations are weighed by how well they meet
the deviation, given what the inputs are uncertain by, and by the knee: warmer cells lose at
maximum power at least the volts they lose at open circuit, lost groups only their share of it,
so that the wrong explanation leaves a series resistance that is too large or too small.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

from viewer.analysis.signatures.likely_counts import likely_counts

HEALTHY_BEFORE = 0.75
TEMPERATURE_BEFORE = 0.125
GROUPS_BEFORE = 0.125
"""How common each explanation is before the sweep is seen (engineering judgement)."""
WRONG_TEMPERATURE = 10.0
"""Standard deviation of a temperature reading that is plainly wrong, K (judgement)."""
DELIVERED_ABOVE = 0.004
"""Modules are sorted upwards, so that a string's voltage may well be above its datasheet's by so
much (relative standard deviation) with nothing wrong (common practice, no source)."""
FARTHEST = 6.0
"""Numbers of groups farther off, in standard deviations, are not weighed."""
KNEE_SHARE, WARM_SHARE = 0.17, 0.06
"""By how much less series resistance shows, per fraction of voltage, if groups are lost, and how
much more if the cells are warmer than read (from strings simulated cell by cell)."""
USUAL_SERIES, SERIES_SPREAD, FAULTY_SERIES = -0.0015, 0.0055, 0.06
"""Mean and spread of the extra series resistance of strings without a fault in series, and its
spread among those with one, in units of v_oc / i_sc (judgement; it is never much too small)."""
FAULT_BEFORE = 0.08
"""How common a fault in series is, and one of leak (judgement)."""


@dataclass(frozen=True)
class VoltageReading:
    """`lost` is the fraction of the open-circuit voltage lost (negative: gained)."""

    lost: float
    uncertainty: float
    """Standard uncertainty of `lost`."""
    groups: int
    """The whole number of bypass groups that explains it best, 0 where none does."""
    probability_healthy: float
    probability_groups: float
    probability_temperature: float
    kelvin: float
    """How much warmer the cells would be than read, K (negative: colder)."""
    likely_groups: tuple[int, int] = (0, 0)
    """Fewest and most that are likely, if groups are lost at all; see likely_counts."""

    @property
    def significant(self) -> bool:
        """Whether a sound string is unlikely, or less likely than one that lost whole groups."""
        return self.probability_healthy < max(0.30, self.probability_groups)

    @property
    def groups_lead(self) -> bool:
        return self.groups > 0 and self.probability_groups > self.probability_temperature


UNTOLD_VOLTAGE = VoltageReading(
    math.nan, math.inf, 0, math.nan, math.nan, math.nan, math.nan, likely_groups=(0, 0)
)
"""Of a sweep that is compared with no prediction, or whose end was lost: nothing is known."""


def read_voltage(
    lost: float,
    uncertainty: float,
    groups: int,
    bypass_diodes: int,
    voltage_per_kelvin: float,
    series_if_temperature: float = 0.0,
) -> VoltageReading:
    """Weigh the explanations of a voltage lower by the fraction `lost`.

    `uncertainty` is its standard uncertainty, `groups` the string's bypass groups,
    `bypass_diodes` those of a module, `voltage_per_kelvin` the relative change of voltage,
    `series_if_temperature` the extra series resistance (in units of v_oc / i_sc) that the curve
    shows if all of the voltage is shifted as a wrong temperature would.
    """
    spread = WRONG_TEMPERATURE * abs(voltage_per_kelvin)
    healthy = _log_bell(lost, sound_spread(lost, uncertainty))
    healthy += math.log(HEALTHY_BEFORE * _series_density(series_if_temperature))
    temperature = _log_bell(lost, math.hypot(uncertainty, spread))
    temperature += math.log(
        TEMPERATURE_BEFORE * _series_density(series_if_temperature - WARM_SHARE * lost)
    )
    fewest = max(math.floor((lost - FARTHEST * uncertainty) * groups), 1)
    most = min(math.ceil((lost + FARTHEST * uncertainty) * groups), groups - 1)
    each = {
        count: _log_bell(lost - count / groups, uncertainty)
        + math.log(
            GROUPS_BEFORE
            * how_common(count, groups, bypass_diodes)
            * _series_density(series_if_temperature + KNEE_SHARE * count / groups)
        )
        for count in range(fewest, most + 1)
    }
    # only their proportions count, and far out all of them are too small for a number
    likeliest = max(healthy, temperature, *each.values())
    sound, warm = math.exp(healthy - likeliest), math.exp(temperature - likeliest)
    weights = {count: math.exp(weight - likeliest) for count, weight in each.items()}
    best, lost_groups = max(weights, key=weights.__getitem__, default=0), sum(weights.values())
    total = sound + warm + lost_groups
    return VoltageReading(
        lost=lost,
        uncertainty=uncertainty,
        groups=best if lost_groups > 0.25 * (warm + lost_groups) else 0,
        probability_healthy=sound / total,
        probability_groups=lost_groups / total,
        probability_temperature=warm / total,
        kelvin=lost / abs(voltage_per_kelvin),
        likely_groups=likely_counts(weights, best),
    )


def sound_spread(lost: float, uncertainty: float) -> float:
    """Of a sound string's voltage where the fraction `lost` is missing (negative: more)."""
    return math.hypot(uncertainty, DELIVERED_ABOVE) if lost < 0.0 else uncertainty


@lru_cache(maxsize=4096)
def how_common(count: int, groups: int, bypass_diodes: int) -> float:
    """How common a number of lost groups is: few are more common, so are whole modules.

    Relative to one, two and three together.
    """

    def weight(count: int) -> float:
        whole = count % bypass_diodes == 0 and groups > bypass_diodes > 1
        return (1.0 + whole) / (1.0 + count) ** 1.5

    return weight(count) / sum(weight(few) for few in (1, 2, 3))


def _series_density(series: float) -> float:
    """How likely that extra series resistance is in a string, up to a factor."""
    sound = (1.0 - FAULT_BEFORE) * _density(series - USUAL_SERIES, SERIES_SPREAD)
    faulty = FAULT_BEFORE * _density(series, FAULTY_SERIES) if series > 0.0 else 0.0
    return sound + faulty + 0.05


def _density(value: float, spread: float) -> float:
    return math.exp(_log_bell(value, spread)) / math.sqrt(2.0 * math.pi)


def _log_bell(value: float, spread: float) -> float:
    return -0.5 * (value / spread) ** 2 - math.log(spread)
