"""One class of whole modules that carry less current than the rest, from a fit of unequal modules.

Modules of a lower power class, of another age or type make one clean stair. Fitted as unequal
modules it comes apart into a few levels close together, for the weaker modules differ among
themselves as well.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.string_fit.reduced_string import FRACTION, GROUPS, stair_place, stairs_of
from viewer.analysis.string_fit.signature_fit import Fit

LEAST_CLASS = 0.79
"""Of the others' current: modules that were sold as one type differ by no more."""
FEWEST_MODULES = 2
ONE_LEVEL = 0.03
"""Levels that are no farther apart are one class's."""
HARDLY_A_GROUP = 0.75
"""Levels of fewer groups are left out."""
MOST_SHARE = 0.55
"""Of the string: where more is weaker, the rest is what deviates."""


@dataclass(frozen=True)
class WeakerClass:
    """`modules` that carry the fraction `level` of the others' current."""

    modules: int
    likely_modules: tuple[int, int]
    """Fewest and most."""
    level: float
    share: float
    """Of the string."""


def weaker_class(fit: Fit, groups: int, bypass_diodes: int) -> WeakerClass | None:
    """The weaker class that the fit's stairs stand for; None where they are no such.

    `groups` are the string's bypass groups, `bypass_diodes` those of a module.
    """
    stairs = stairs_of(fit.vector)
    counted = np.flatnonzero(stairs[:, GROUPS] * groups >= HARDLY_A_GROUP)
    shares, levels = stairs[counted, GROUPS], stairs[counted, FRACTION]
    if counted.size == 0 or np.ptp(levels) > ONE_LEVEL or shares.sum() > MOST_SHARE:
        return None
    share = float(shares.sum())
    per_module = bypass_diodes / groups
    modules = round(share / per_module)
    if modules < FEWEST_MODULES:
        return None
    doubt = 2.0 * _doubt(fit, counted) / per_module
    exact = share / per_module
    likely = min(modules, math.ceil(exact - doubt)), max(modules, math.floor(exact + doubt))
    return WeakerClass(modules, likely, float(shares @ levels) / share, share)


def _doubt(fit: Fit, stairs: NDArray[np.intp]) -> float:
    """Standard uncertainty of the share of the string that those stairs take together."""
    places = [stair_place(int(stair), GROUPS) for stair in stairs]
    variance = float(fit.covariance[np.ix_(places, places)].sum())
    return math.sqrt(max(variance, 0.0)) * max(fit.roughness, 1.0)
