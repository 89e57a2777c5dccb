"""A rate of change per year with its interval, and what may be said of it."""

from dataclasses import dataclass
from math import isfinite

from viewer.physics.uncertainty.uncertainty import decimals_by

PUBLISHED_MEDIAN = -0.5
"""Median rate of power over published studies, %/year: D. C. Jordan and S. R. Kurtz, Progress in
Photovoltaics 21 (2013) 12-29, doi 10.1002/pip.1182."""

OLD_RULE = -2.0
"""An older rule of thumb, %/year: common practice, no source."""

REPORTED_BY_YEARLY_TRACING = (-5.0, -4.0)
"""What yearly tracing is said to find at some sites, %/year: common practice, no source."""

MOST_DECIMALS = 2
"""Of a rate in %/year: a hundredth is less than any sensor keeps from year to year."""

SHORT_SPAN = 3.0
"""Years below which a sentence warns that little is proved: common practice, no source."""


@dataclass(frozen=True)
class Rate:
    """Change per year in % of the value at the first visit; a loss is negative.

    `low` and `high` bound the 95 % interval; NaN where no interval can be given.
    """

    value: float
    low: float
    high: float

    @property
    def is_loss(self) -> bool:
        """Whether the whole interval lies below zero."""
        return self.high < 0.0

    @property
    def is_gain(self) -> bool:
        return self.low > 0.0

    @property
    def has_interval(self) -> bool:
        return isfinite(self.low) and isfinite(self.high)

    @property
    def decimals(self) -> int:
        """As many as half the interval allows, at most MOST_DECIMALS."""
        half = (self.high - self.low) / 2
        return min(MOST_DECIMALS, decimals_by(half)) if half > 0.0 else MOST_DECIMALS

    def printed(self, value: float) -> str:
        """The rate itself or an end of its interval, with the digits that the interval allows."""
        return f"{value:+.{self.decimals}f}"

    def text(self) -> str:
        """Such as `-0.74 (-1.20 to -0.28) %/year`: never the value without its interval."""
        if not self.has_interval:
            return "– %/year"
        ends = f"{self.printed(self.low)} to {self.printed(self.high)}"
        return f"{self.printed(self.value)} ({ends}) %/year"


def verdict(rate: Rate, span: float) -> list[str]:
    """What the interval of a rate of power allows to say, in sentences. `span` in years."""
    if not rate.has_interval:
        return ["No rate can be given: the values allow no interval."]
    ends = f"{rate.printed(rate.low)} and {rate.printed(rate.high)}"
    value, between = rate.printed(rate.value), f"between {ends} %/year (95 %)"
    if rate.is_loss:
        said = [f"Power is falling: {value} %/year, {between}."]
    elif rate.is_gain:
        said = [
            f"Power is rising: {value} %/year, {between}. Modules do not do that: "
            "look for soiling at the first visit, repairs, or a sensor that has changed."
        ]
    else:
        said = [f"No change of power can be shown: the rate lies {between}."]
    said.append(_against_published(rate))
    if span < SHORT_SPAN:
        said.append(
            f"{span:.1f} years of field data prove little: sensors, season and soiling can weigh "
            "as much as ageing."
        )
    return said


def _against_published(rate: Rate) -> str:
    source = (
        f"the published median of {PUBLISHED_MEDIAN:+.1f} %/year "
        "(Jordan and Kurtz 2013, doi 10.1002/pip.1182)"
    )
    if rate.high < PUBLISHED_MEDIAN:
        return f"The whole interval lies below {source}: faster than that."
    if rate.low > PUBLISHED_MEDIAN:
        return f"The whole interval lies above {source}: slower than that."
    return f"It includes {source}."


def trade_context() -> list[str]:
    """What else is said about rates, and that nothing published stands behind it."""
    low, high = REPORTED_BY_YEARLY_TRACING
    return [
        f"An older rule of thumb is {OLD_RULE:+.0f} %/year, and yearly tracing is said to find "
        f"{high:+.0f} to {low:+.0f} %/year at some sites (common practice, no source)."
    ]


def driver(rates: dict[str, Rate], labels: dict[str, str]) -> str:
    """Which of Isc, Voc and FF carries a shown loss of power, as far as the intervals tell."""
    power = rates["p_mp"]
    parts = {name: rate for name, rate in rates.items() if name != "p_mp"}
    listed = ", ".join(f"{labels[name]} {rate.text()}" for name, rate in parts.items())
    if not power.is_loss:
        return f"Parts: {listed}."
    shown = {name: rate for name, rate in parts.items() if rate.is_loss}
    carrying = [labels[name] for name, rate in shown.items() if rate.value <= 0.5 * power.value]
    if carrying:
        return f"{' and '.join(carrying)} carries at least half of the loss. Parts: {listed}."
    if shown:
        names = " and ".join(labels[name] for name in shown)
        return f"{names} falls too, but explains less than half of the loss. Parts: {listed}."
    return f"Which part drives the loss cannot be told. Parts: {listed}."
