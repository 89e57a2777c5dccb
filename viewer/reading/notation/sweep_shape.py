"""Which of two columns is the voltage of a sweep and which the current, from the numbers."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LARGEST = 1e9
"""Numbers at or beyond are no readings of a sweep, in whatever unit."""

LEAST_FALL = 0.7
"""How clearly the current must fall as voltage rises (minus the rank correlation)."""


@dataclass(frozen=True)
class PairShape:
    """`fits` is 0 (no sweep) to 1; `exchanged` is the chance that the first is the current."""

    fits: float
    exchanged: float
    reason: str


def pair_shape(one: Array, two: Array) -> PairShape:
    """How well `two` against `one` looks like current against voltage, either way round."""
    good = _measurable(one) & _measurable(two)
    x, y = np.abs(one[good]), np.abs(two[good])
    if x.size < 5 or np.ptp(x) == 0 or np.ptp(y) == 0:
        return PairShape(0.0, 0.5, "")
    fall = -_rank_correlation(x, y)
    if fall < LEAST_FALL:
        return PairShape(0.0, 0.5, "")
    best = int(np.argmax(x * y))
    share_x, share_y = float(x[best] / x.max()), float(y[best] / y.max())
    fill = share_x * share_y
    if not 0.15 < fill < 0.98:
        return PairShape(0.0, 0.5, "")
    exchanged, reason = _orientation(x, y, share_x, share_y)
    return PairShape(fall * min(1.0, 2 * fill), exchanged, reason)


def _orientation(x: Array, y: Array, share_x: float, share_y: float) -> tuple[float, str]:
    """Strings have more volts than amperes, and their maximum power nearer to Isc than to Voc."""
    size = np.log(x.max() / y.max())
    knee = 12.0 * (share_y - share_x)
    exchanged = float(1.0 / (1.0 + np.exp(np.clip(1.5 * size + knee, -30, 30))))
    reason = (
        f"its values reach {max(x.max(), y.max()):.4g} against {min(x.max(), y.max()):.4g}, "
        f"and the largest product lies at {100 * share_x:.0f} % of one and "
        f"{100 * share_y:.0f} % of the other"
    )
    return exchanged, reason


def _rank_correlation(x: Array, y: Array) -> float:
    """Spearman's, with ties broken by order; the flat part of a sweep is mostly noise."""
    order = np.argsort(x, kind="stable")
    scaled = (y[order] - y.min()) / np.ptp(y)
    coarse = np.round(scaled, 2)  # noise below one hundredth of the range does not count
    rank_y = np.argsort(np.argsort(coarse, kind="stable"), kind="stable").astype(float)
    rank_x = np.arange(x.size, dtype=float)
    ties = np.unique(coarse, return_inverse=True)[1]
    mean_rank = np.bincount(ties, rank_y) / np.bincount(ties)
    ranks = mean_rank[ties]
    spread = float(np.std(rank_x) * np.std(ranks))
    if spread == 0:
        return 0.0
    return float(np.mean((rank_x - rank_x.mean()) * (ranks - ranks.mean())) / spread)


def _measurable(column: Array) -> NDArray[np.bool_]:
    return np.isfinite(column) & (np.abs(column) < LARGEST)


def mostly_negative(column: Array) -> bool:
    """Whether the column is given with the opposite sign: most of it and its largest part."""
    finite = column[np.isfinite(column)]
    if not finite.size or finite.min() >= 0:
        return False
    return bool((finite < 0).mean() > 0.6 and -finite.min() > abs(finite.max()))


def counts_rows(column: Array) -> bool:
    """Whether the column is 0, 1, 2 ... or 1, 2, 3 ..."""
    start = column[0]
    return bool(start in (0.0, 1.0) and np.array_equal(column, start + np.arange(column.size)))


def is_product(column: Array, one: Array, two: Array) -> float:
    """The factor k if `column` is k times `one` times `two` within 2 %, else 0."""
    good = _measurable(one) & _measurable(two) & _measurable(column)
    column, one, two = column[good], one[good], two[good]
    product = one * two
    good = np.abs(product) > 0
    if good.sum() < 5:
        return 0.0
    big = good & (np.abs(product) > 0.2 * np.abs(product[good]).max())
    ratio = column[big] / product[big]
    factor = float(np.median(ratio))
    if factor == 0 or np.abs(ratio / factor - 1).max() > 0.02:
        return 0.0
    return factor
