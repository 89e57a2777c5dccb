"""Strings of a harness that are traced as one: what is said of them, and those without current.

Their curve is the sum of all, so that a fault of one looks like a smaller fault of each. A string
that carries nothing, by a fuse, a connector or a switch, is told by its whole share of the current.
"""

import math
from dataclasses import dataclass, replace

from viewer.analysis.causes.cause_words import NEXT_CHECKS
from viewer.analysis.results.trace_result import CandidateCause, Signature
from viewer.analysis.signatures.signature_reading import SignatureReading
from viewer.analysis.signatures.signature_words import power
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.nomenclature import counted

OPEN_BEFORE, EACH_FURTHER = 0.1, 0.2
"""How common a harness with an open string is beside one whose current is low for another reason,
and each further open string beside one fewer (judgement)."""
OTHERWISE = 0.10
"""By this fraction of the current what else is lost gets rarer by a factor of 2.7 (judgement)."""
SAID, LED_BY = 0.25, 0.5
"""From these probabilities on open strings are spoken of, and the others read without them."""
OPEN_CIRCUIT = 0.85
"""How far a string without any current speaks for an open circuit rather than for test leads that
were not connected (judgement)."""
LEAST_CURRENT = 0.01
"""Of the current that is predicted: less is none, for the light of an overcast sky alone gives ten
times as much (judgement)."""
NOT_OF_CURRENT = frozenset({"step", "low_voltage", "slope_near_isc", "slope_near_voc"})


@dataclass(frozen=True)
class OpenStrings:
    """That `number` of the `of` strings traced as one carry no current is so probable."""

    number: int
    of: int
    probability: float

    @property
    def leads(self) -> bool:
        return self.probability > LED_BY

    @property
    def kept(self) -> float:
        """Share of the strings that carry current."""
        return 1.0 - self.number / self.of

    @property
    def words(self) -> str:
        """What they would do, as the end of a sentence."""
        which = f"{self.number} of {self.of} strings"
        return f"as {which} without current would: fuse, connector or switch"


def open_strings(reading: SignatureReading, of: int) -> OpenStrings | None:
    """Those that a low current speaks for; None where it does not, or one string was traced."""
    told = reading.of_kind("low_current")
    if of < 2 or not told:
        return None
    lost, uncertainty = told[0].size, float(told[0].details["uncertainty"]) / 2.0
    number = min(max(round(lost * of), 1), of - 1)
    off = (lost - number / of) / uncertainty
    before = OPEN_BEFORE * EACH_FURTHER ** (number - 1)
    these = before * math.exp(-0.5 * off**2) / (uncertainty * math.sqrt(2.0 * math.pi))
    otherwise = math.exp(-lost / OTHERWISE) / OTHERWISE
    probability = these / (these + otherwise)
    return OpenStrings(number, of, probability) if probability > SAID else None


def said_of_current(reading: SignatureReading, found: OpenStrings) -> SignatureReading:
    """The reading whose low current says what it would be."""

    def said(one: Signature) -> Signature:
        if one.kind != "low_current":
            return one
        return replace(one, text=f"{one.text.removesuffix('.')}, {found.words}.")

    return replace(reading, signatures=tuple(said(one) for one in reading.signatures))


def read_beside(
    of_all: SignatureReading, of_others: SignatureReading, found: OpenStrings
) -> SignatureReading:
    """The reading against strings that all carry current, but for the current, with what was read
    against those that are not open."""
    low = of_all.of_kind("low_current")
    others = tuple(
        one
        for one in of_others.signatures
        if one.kind != "low_current" and one.details.get("input") != "poa_global"
    )
    losses = {kind: loss for kind, loss in of_others.losses.items() if kind != "low_current"}
    return replace(
        of_others,
        signatures=(*low, *others),
        losses={**losses, "low_current": of_all.losses["low_current"]},
        current_scale=of_others.current_scale * found.kept,
        current_uncertainty=of_all.current_uncertainty,
        predicted_p_mp=of_all.predicted_p_mp,
    )


def without_current(predicted: KeyPoints) -> tuple[Signature, CandidateCause]:
    """What a string that carries nothing shows, and what may lie behind it."""
    low = Signature(
        "low_current",
        1.0,
        "fraction",
        f"There is no current where {predicted.i_sc:.2f} A at short circuit were predicted, which "
        f"costs all of {power(predicted.p_mp, math.nan)}.",
        {"loss": round(predicted.p_mp, 1), "uncertainty": LEAST_CURRENT},
    )
    evidence = f"{low.text} An open connector, fuse or switch does that."
    cause = CandidateCause(
        "series_resistance",
        OPEN_CIRCUIT,
        evidence,
        NEXT_CHECKS["series_resistance"],
        "Test leads that were not connected look the same.",
    )
    return low, cause


def traced_as_one(reading: SignatureReading, strings: int) -> tuple[str, ...]:
    """What is to be said of numbers and levels that hold of all strings together."""
    about_all = any(
        one.kind in NOT_OF_CURRENT or one.details.get("input") == "temperature_cell"
        for one in reading.signatures
    )
    if strings < 2 or not about_all:
        return ()
    return (
        f"{counted(strings, 'string')} were traced as one: numbers of groups and levels hold as "
        "if each had the fault; trace them singly.",
    )
