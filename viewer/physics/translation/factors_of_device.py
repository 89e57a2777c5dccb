"""Correction factors of one string or module: its own where its curves show them, else defaults.

A string traced at several irradiances and temperatures shows its own internal series
resistance and kappa, which the datasheet's model cannot know (age, connectors). They are
taken only when they do better than the defaults: the translated maximum powers of its curves
must agree more closely, and the resistance must be of a believable size.

Limits without a source are judgement.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from viewer.physics.translation.condition_curve import ConditionCurve
from viewer.physics.translation.condition_curves import ConditionCurves
from viewer.physics.translation.corrections import Corrections
from viewer.physics.translation.factors_from_curves import KnownAtReference, factors_from_curves
from viewer.physics.translation.procedures import translate
from viewer.physics.translation.translated_key_points import translated_key_points

LEAST_CURVES = 3
LEAST_IRRADIANCE_RATIO = 1.3
BELIEVABLE = (0.3, 4.0)
"""Range of the own resistance over the default one."""

CLEARLY_BETTER = 0.8
"""The spread of powers must fall below this share of the defaults' spread."""

ALIKE = 0.002
"""Powers whose spread with the defaults is below this fraction leave nothing to gain."""


@dataclass(frozen=True)
class DeviceFactors:
    """The chosen factors, and the spread of translated powers with them and with the defaults.

    Spreads are standard deviations over the mean, as fractions; NaN where too few curves.
    """

    corrections: Corrections
    own: bool
    spread: float
    spread_of_defaults: float


def device_factors(
    curves: Sequence[ConditionCurve], defaults: Corrections, procedure: int = 2
) -> DeviceFactors:
    """Factors for the device whose curves these are; `defaults` are of the same whole device.

    Temperature coefficients and the dependence of Voc on irradiance stay the defaults'. The
    result's `source` says in words which were taken and why. procedure: 1, 2 or 4.
    """
    nan = float("nan")
    poa = [one.poa_global for one in curves]
    if len(curves) < LEAST_CURVES or max(poa) < LEAST_IRRADIANCE_RATIO * min(poa):
        return DeviceFactors(defaults, False, nan, nan)
    before = power_spread(curves, defaults, procedure)
    own = _own(curves, defaults)
    after = power_spread(curves, own, procedure)
    share = float(own.second.resistance_series / defaults.second.resistance_series)
    low, high = BELIEVABLE
    better = before > ALIKE and after < CLEARLY_BETTER * before
    if not (better and low <= share <= high):
        words = (
            f"{defaults.source}; the device's {len(curves)} curves agree within "
            f"{100 * before:.1f} % with them and gave no better ones"
        )
        return DeviceFactors(replace(defaults, source=words), False, before, before)
    words = (
        f"kappa and internal series resistance from the device's own {len(curves)} curves, whose "
        f"powers then agree within {100 * after:.1f} % ({100 * before:.1f} % with the datasheet "
        "model's)"
    )
    return DeviceFactors(replace(own, source=words), True, after, before)


def _own(curves: Sequence[ConditionCurve], defaults: Corrections) -> Corrections:
    known = KnownAtReference(
        int(defaults.cells_in_series),
        alpha_sc=float(defaults.alpha_sc),
        beta_voc=float(defaults.beta_voc),
        b_1=float(defaults.b_1),
        b_2=float(defaults.b_2),
    )
    found = factors_from_curves(curves, known)
    if found.first.kappa == 0.0:  # temperatures too much alike to tell
        return replace(
            found,
            first=replace(found.first, kappa=defaults.first.kappa),
            second=replace(found.second, kappa=defaults.second.kappa),
        )
    return found


def power_spread(
    curves: Sequence[ConditionCurve], corrections: Corrections, procedure: int = 2
) -> float:
    """Standard deviation over mean of the curves' maximum powers, translated to STC."""
    together = ConditionCurves.of(curves)
    moved = translate(
        together.voltage[0],
        together.current[0],
        poa_global=together.poa_global,
        temperature_cell=together.temperature_cell,
        corrections=corrections,
        procedure=procedure,
    )
    powers = translated_key_points(moved)["p_mp"]
    return float(np.std(powers, ddof=1) / np.mean(powers))
