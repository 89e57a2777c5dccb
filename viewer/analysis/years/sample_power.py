"""How small a degradation a sample of strings can show."""

from dataclasses import dataclass
from math import hypot, sqrt

from scipy.special import ndtri, stdtrit

from viewer.analysis.years.observation import Shares

USUAL_BETWEEN = 0.3
"""Standard deviation of true rates between strings, %/year, when none is known: common practice,
no source."""


@dataclass(frozen=True)
class Detection:
    """What `strings` of `population`, traced twice `span` years apart, can show.

    half_width: of the 95 % interval of the mean rate; smallest: the loss that such an interval
    will show to be one with probability `power`; floor: the same with every string of the site
    traced, which what is common to a visit sets. All in %/year.
    """

    strings: int
    population: int
    span: float
    half_width: float
    smallest: float
    floor: float
    confidence: float
    power: float


def detectable(
    strings: int,
    population: int,
    span: float,
    uncertainty: Shares,
    *,
    between: float = USUAL_BETWEEN,
    confidence: float = 0.95,
    power: float = 0.80,
) -> Detection:
    """The smallest mean loss that can be shown with the same strings traced twice.

    uncertainty: of one value of power at STC (fractions, k = 1); between: standard deviation of
    the strings' true rates, %/year. The interval is that of `trend`: Student's factor on what
    differs between strings, the normal one on what is common to each visit. Raises ValueError
    for fewer than two strings.
    """
    if strings < 2:
        raise ValueError("a mean rate with an interval needs at least two strings")
    width, error = _interval(strings, population, span, uncertainty, between, confidence)
    all_width, all_error = _interval(population, population, span, uncertainty, between, confidence)
    z = float(ndtri(power))
    return Detection(
        strings=strings,
        population=population,
        span=span,
        half_width=width,
        smallest=width + z * error,
        floor=all_width + z * all_error,
        confidence=confidence,
        power=power,
    )


def _interval(
    strings: int,
    population: int,
    span: float,
    uncertainty: Shares,
    between: float,
    confidence: float,
) -> tuple[float, float]:
    """Half width of the interval and standard error of the mean rate, %/year."""
    left = max(0.0, 1.0 - strings / population)
    own = 100 * sqrt(2) * uncertainty.own / span
    common = 100 * sqrt(2) * uncertainty.common / span
    sampling = sqrt((own**2 + left * between**2) / strings)
    tail = 0.5 + confidence / 2
    width = hypot(stdtrit(strings - 1, tail) * sampling, ndtri(tail) * common)
    return float(width), hypot(sampling, common)
