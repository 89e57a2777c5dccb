"""A sweep to explain: how its fits are made, and how they are weighed against each other."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.signatures.stair_vectors import NEARLY_FULL, looks_like_mismatch
from viewer.analysis.signatures.usual_string import UsualString
from viewer.analysis.string_fit.reduced_string import (
    CELLS,
    FRACTION,
    GROUPS,
    Reference,
    stair_count,
    stair_place,
    stairs_of,
)
from viewer.analysis.string_fit.signature_fit import Fit, Places, Prior, Sweep
from viewer.analysis.string_fit.string_descent import FitAsked

Array = NDArray[np.float64]

PRICE_OF_A_STAIR = 16.0
"""By how much the squared residuals, in units of their own variance, must fall to pay for it."""
NOT_ALL = 40.0
"""Where all groups are limited alike, none is: the string's current is lower."""
ONE_CELL_IN_MANY, SEVERAL, FEW_CELLS = 8.0, 1.6, 0.08
"""A single limited cell in each of several groups is rare."""
GOOD_FIT = 1.3
"""Squared residuals per point above which a fit is not good."""
LEAST_UNIT = 0.45
"""The noise read from the sweep may be too large by about this (in variance), not more."""
MOST_OF_STRING = 0.6
"""A shade or dirt at one level does not hold more of the string than this (judgement)."""


@dataclass(frozen=True, eq=False)
class Problem:
    """A sweep to explain: its prediction, groups, and what is known beforehand."""

    reference: Reference
    sweep: Sweep
    groups: int
    prior: Prior
    usual: UsualString

    def fit(self, start: Array, present: float, free: Places, iterations: int = 12) -> FitAsked:
        """The fit from `start` over the places `free`, to be awaited."""
        return FitAsked(self.reference, start, present, self.sweep, free, self.prior, iterations)

    def unit(self, *fits: Fit) -> float:
        """What the squared residual of one point is worth, from the best of the fits."""
        return max(LEAST_UNIT, min(fit.cost for fit in fits) / self.sweep.voltage.size)

    def worth(self, fit: Fit, unit: float) -> float:
        """How little speaks for the fit: residuals, stairs, and how unusual its numbers are."""
        usual = self.usual.price(fit.vector, fit.present)
        return fit.cost / unit + fit.penalty + self._price_of_stairs(fit) + usual

    def _price_of_stairs(self, fit: Fit) -> float:
        stairs = stairs_of(fit.vector)
        price = PRICE_OF_A_STAIR * len(stairs)
        single = (stairs[:, GROUPS] * self.groups > SEVERAL) & (stairs[:, CELLS] < FEW_CELLS)
        price += ONE_CELL_IN_MANY * int(single.sum())
        if fit.stair_share > fit.present - 0.5 / self.groups:
            price += NOT_ALL
        return price

    def good(self, fit: Fit) -> bool:
        return fit.cost < GOOD_FIT * self.sweep.voltage.size

    def at_noise(self, fit: Fit) -> bool:
        """Whether nothing but noise is left."""
        return fit.cost < self.sweep.voltage.size

    def is_mismatch(self, fit: Fit) -> bool:
        """Whether the stairs stand for modules of unequal current.

        One clean stair of many groups is a shade or dirt at one level, not a spread.
        """
        if not looks_like_mismatch(fit.vector, self.groups):
            return False
        one = stair_count(fit.vector) == 1 and fit.stair_share < MOST_OF_STRING
        clean = one and self.at_noise(fit)
        return not (clean and fit.vector[stair_place(0, FRACTION)] < NEARLY_FULL)
