"""What a current that is low or too high all along the curve points to."""

import math

from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.cause_ledger import Ledger
from viewer.analysis.causes.cause_words import MOVED, UNDECIDED_CURRENT
from viewer.analysis.causes.field_notes import DIRT, said_of, says_cleaned
from viewer.analysis.causes.neighbours import COMMON_CURRENT
from viewer.analysis.causes.signs_of_age import (
    all_worse,
    current_low_as_by_age,
    small_series_rise,
    small_voltage_loss,
)
from viewer.analysis.results.trace_result import Signature
from viewer.analysis.signatures.signature_reading import SignatureReading

Odds = dict[str, float]
"""How the causes of a low current stand to each other."""

LOW_EXPLAINED = 0.96
"""The shares of all causes of a low current together."""
ALONE: Odds = {"soiling": 0.50, "irradiance_input": 0.24, "degradation": 0.22}
BESIDE_AGE: Odds = {"soiling": 0.34, "irradiance_input": 0.14, "degradation": 0.48}
"""By the curve alone, and where voltage or resistance are a little worse as well."""
DIRT_TOLD: Odds = {"soiling": 3.0}
APART: Odds = {"degradation": 1.5, "irradiance_input": 1.0 / 8.0}
COMMON: Odds = {"degradation": 0.55, "irradiance_input": 3.5}
OWN: Odds = {"irradiance_input": 1.0 / 8.0}
PART: Odds = {"irradiance_input": 0.5}
CLEANED: Odds = {"soiling": 0.15}
UNSTEADY: Odds = {"irradiance_input": 3.3}
"""By what factor the odds change with a note of dirt; with the whole combiner lower than others,
all of it as low, the string alone low, the others low but less; with a string cleaned shortly
before; and with an irradiance that moved during the sweep (judgement)."""
LIMITED = ("soiling", "degradation")
MOST_DIRT, FADING = 0.30, 0.10
"""A larger loss of current is too much for these alone, in every further step of the second
by a factor of 2.7 (judgement)."""
WHOLE_SHADED, NONE_OF_THESE = 0.15, 0.15
"""Odds, beside those above, that so large a loss is a shade over the whole string, and that it is
what no cause stands for, such as an open path (judgement)."""
TOO_MUCH = (
    "It is too much for dirt or age alone; an open parallel path, a fuse, a shade over the whole "
    "string or a wrong scale of the current or of the sensor takes as much."
)
EXCESS_EXPLAINED, EXCESS_OF_ONE, EXCESS_OF_REAR = 0.94, 0.70, 0.55
"""How far an excess of current speaks for the irradiance reading; where the combiner's others lack
it; and at most where a bifacial module's light from behind was not recorded (judgement)."""
FROM_BEHIND = "Or it is the light from behind, which was not recorded."


def from_low_current(
    ledger: Ledger, reading: SignatureReading, signature: Signature, known: CauseContext
) -> None:
    """What a current below the prediction points to."""
    odds = _odds(ledger, reading, known)
    opened = known.open_strings.probability if known.open_strings else 0.0
    if opened > 0.0:
        odds["series_resistance"] = opened * sum(odds[cause] for cause in LIMITED)
        _speak(odds, dict.fromkeys(LIMITED, 1.0 - opened))
    too_much = 1.0 - math.exp(-max(signature.size - MOST_DIRT, 0.0) / FADING)
    if too_much > 0.0:
        _speak(odds, dict.fromkeys(LIMITED, 1.0 - too_much))
        odds["shading"] = WHOLE_SHADED * too_much
    total = sum(odds.values()) + NONE_OF_THESE * too_much * (1.0 - opened)
    undecided = known.neighbours is None or not known.neighbours.current_agrees
    for cause, part in odds.items():
        evidence = signature.text
        if too_much > 0.0 and cause in LIMITED:
            ledger.oppose(cause, TOO_MUCH)
        elif too_much > 0.0:
            evidence = f"{evidence} {TOO_MUCH}"
        if known.irradiance_unsteady and cause == "irradiance_input":
            evidence = f"{evidence} {MOVED}"
        ledger.add(cause, LOW_EXPLAINED * part / total, evidence, signature.loss)
        if undecided and cause in ALONE:
            ledger.oppose(cause, UNDECIDED_CURRENT)


def _odds(ledger: Ledger, reading: SignatureReading, known: CauseContext) -> Odds:
    """What all that is known makes of the odds, whatever the size of the loss."""
    worse = small_voltage_loss(reading) or small_series_rise(reading) or all_worse(reading)
    odds = dict(BESIDE_AGE if worse and current_low_as_by_age(reading) else ALONE)
    if dirt := said_of(known.note, DIRT):
        _speak(odds, DIRT_TOLD)
        ledger.oppose("irradiance_input", f'The note speaks of dirt: "{dirt}".')
    _speak(odds, _of_neighbours(ledger, known))
    if cleaned := says_cleaned(known.note):
        _speak(odds, CLEANED)
        ledger.oppose("soiling", f'The note says that it was cleaned shortly before: "{cleaned}".')
    if known.irradiance_unsteady:
        _speak(odds, UNSTEADY)
    return odds


def _speak(odds: Odds, factors: Odds) -> None:
    for cause, factor in factors.items():
        odds[cause] *= factor


def _of_neighbours(ledger: Ledger, known: CauseContext) -> Odds:
    """The factors of what the neighbours show; none where they say nothing."""
    neighbours = known.neighbours
    if neighbours is None or not neighbours.current_agrees:
        return {}
    if neighbours.combiner_is_apart:
        ledger.oppose(
            "irradiance_input",
            f"The visit's best combiner has {-100 * neighbours.own_combiner:.1f} % more current by "
            "the same sensor, added up over the steps from combiner to combiner.",
        )
        return APART
    if neighbours.current_is_common:
        ledger.oppose("degradation", neighbours.current_told)
        return COMMON
    if known.irradiance_unsteady:
        return {}  # their sensor was right, which says nothing of what moved in this sweep
    ledger.oppose("irradiance_input", neighbours.current_told)
    return PART if neighbours.common_current < -COMMON_CURRENT else OWN


def from_excess_current(
    ledger: Ledger, reading: SignatureReading, signature: Signature, known: CauseContext
) -> None:
    """What a current above the prediction points to, which no string makes of itself."""
    neighbours = known.neighbours
    share = EXCESS_EXPLAINED
    if neighbours is not None and neighbours.current_agrees and not neighbours.current_is_common:
        share = EXCESS_OF_ONE
        ledger.oppose("irradiance_input", neighbours.current_told)
    evidence = signature.text
    if known.rear_unknown:
        share, evidence = min(share, EXCESS_OF_REAR), f"{evidence} {FROM_BEHIND}"
    seeming = abs(1.0 - reading.current_scale) * reading.predicted_p_mp
    ledger.add("irradiance_input", share, evidence, seeming)
