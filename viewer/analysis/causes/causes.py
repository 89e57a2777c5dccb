"""From signatures to ranked candidate causes, never surer than the evidence allows.

Every signature shares a weight among the causes that can produce it; evidence from outside the
curve (neighbouring strings, an earlier trace, a note) moves the shares. A cause that several
signatures point to gains from each. The shares are engineering judgement, not statistics of
failures, and are stated here in one place each.
"""

import re
from dataclasses import dataclass

from viewer.analysis.causes.cause_words import (
    NEXT_CHECKS,
    UNDECIDED_CURRENT,
    UNDECIDED_SHADE_OR_CELL,
)
from viewer.analysis.causes.neighbours import NeighbourEvidence
from viewer.analysis.causes.weaker_modules import (
    SHADE_OF_WHOLE_MODULES,
    WEAKER_MODULES,
    whole_modules_share,
)
from viewer.analysis.results.trace_result import CandidateCause, Signature
from viewer.analysis.signatures.signature_reading import SignatureReading

LEAST_LIKELIHOOD = 0.02
LIKELY = 0.3
"""Causes at least so likely are ranked by what they cost: each may be there beside the others."""
SMALL_VOLTAGE_LOSS = 0.045
"""A voltage loss below this fraction may go with age."""
COMMON_SPEAKS, OWN_SPEAKS, READING_APART_SPEAKS = 20.0, 6.0, 30.0
"""By what factor the odds of a wrong temperature change when the neighbours deviate alike, do
not deviate, or had another temperature read that would explain it."""
UNSTEADY_ALONE = 0.5
"""Likelihood of a wrong irradiance that moved during a sweep which shows nothing else."""
UNSTEADY = "The irradiance changed during the sweep, so that no one irradiance belongs to it."
SOMEWHAT = 1.2
"""Standard deviations; age takes some current as well as voltage."""
MOST_SERIES_OF_AGE = 0.06
"""Of the power: more than that is a faulty contact rather than age (judgement)."""
AGED = 0.8
"""How far current, voltage and resistance that are all somewhat worse speak for age."""
LEAST_KELVIN = 4.0
SHADE_WORDS = ("shade", "shadow", "tree", "pole", "chimney", "grass", "weed", "leaf", "dropping")
CELL_WORDS = ("hot spot", "hotspot", "crack", "broken", "burn", "snail")
_CLEANED = re.compile(r"(?<!not )(?<!never )(?<!yet )(?<!be )\b(cleaned|washed)\b")
"""Said of the past; "not yet cleaned" and "to be washed" are not."""
SOILING_WORDS = ("dirt", "dust", "soil", "pollen", "sand", "mud", "snow")

SAME_STAIR = "A trace at another hour of the day shows the same stair; a shade moves."
OTHER_STAIR = "A trace at another hour of the day does not show the same stair; a fault stays."
MENDED_BETWEEN = "What was mended between the two traces would change the stair as well."


@dataclass(frozen=True)
class CauseContext:
    """Evidence beside the curve; None where there is none.

    neighbours: what the combiner's other strings show. note: the text in the file. same_stairs:
    whether another trace of the string, at another hour of the day, shows the same stairs (True) or
    not (False). cleaned: whether the string was cleaned shortly before. irradiance_unsteady:
    whether the irradiance moved during the sweep. temperature_doubtful: whether the temperature
    was estimated or its check failed.
    """

    neighbours: NeighbourEvidence | None = None
    note: str | None = None
    same_stairs: bool | None = None
    cleaned: bool | None = None
    irradiance_unsteady: bool = False
    temperature_doubtful: bool = False


class _Ledger:
    """Collects, for each cause, how strongly it is indicated, what for and what against.

    The loss that goes with a share, W, is what the curve lacks for the signature; of a wrong
    reading what it makes the string seem to lack or to yield. All of it counts for a cause that
    is likely behind the signature, for else two likely ones would halve what both explain.
    """

    def __init__(self) -> None:
        self.doubt: dict[str, float] = {}
        self.loss: dict[str, float] = {}
        self.evidence: dict[str, list[str]] = {}
        self.against: dict[str, list[str]] = {}

    def add(self, cause: str, share: float, why: str, loss: float = 0.0) -> None:
        if share <= 0.0:
            return
        self.doubt[cause] = self.doubt.get(cause, 1.0) * (1.0 - min(share, 0.97))
        self.loss[cause] = self.loss.get(cause, 0.0) + (loss if share >= LIKELY else share * loss)
        self._note(self.evidence, cause, why)

    def oppose(self, cause: str, why: str) -> None:
        self._note(self.against, cause, why)

    @staticmethod
    def _note(book: dict[str, list[str]], cause: str, why: str) -> None:
        texts = book.setdefault(cause, [])
        if why and why not in texts:
            texts.append(why)

    def ranked(self) -> tuple[CandidateCause, ...]:
        return tuple(
            CandidateCause(
                cause=cause,
                likelihood=round(1.0 - self.doubt[cause], 3),
                evidence=" ".join(self.evidence[cause]),
                next_check=NEXT_CHECKS[cause],
                against=" ".join(self.against.get(cause, [])),
            )
            for cause in sorted(self.doubt, key=self._place)
            if 1.0 - self.doubt[cause] >= LEAST_LIKELIHOOD
        )

    def _place(self, cause: str) -> tuple[bool, float, float]:
        """Likely ones first, by what they cost; then the others, by how likely they are."""
        doubt, loss = round(self.doubt[cause], 2), self.loss[cause]
        likely = 1.0 - doubt >= LIKELY
        return not likely, -loss if likely else doubt, doubt if likely else -loss


def rank_causes(
    reading: SignatureReading, context: CauseContext | None = None
) -> tuple[CandidateCause, ...]:
    """Candidate causes of a reading; `none` where nothing is significant.

    The likely ones come first, of these those that cost most; then the others.
    """
    known = context or CauseContext()
    ledger = _Ledger()
    if reading.of_kind("step"):
        _from_steps(ledger, reading, known)
    for signature in reading.of_kind("low_current"):
        _from_low_current(ledger, reading, signature, known)
    _from_voltage(ledger, reading, known)
    for signature in reading.signatures:
        if signature.kind in ("slope_near_voc", "slope_near_isc", "rounded_knee"):
            _from_slopes(ledger, reading, signature, known)
        if signature.details.get("input") == "poa_global":
            _from_excess_current(ledger, reading, signature, known)
    if not ledger.doubt and known.irradiance_unsteady:
        ledger.add("irradiance_input", UNSTEADY_ALONE, UNSTEADY)
    if not ledger.doubt:
        return (_nothing_found(reading),)
    return ledger.ranked()


def _nothing_found(reading: SignatureReading) -> CandidateCause:
    healthy = min(reading.voltage.probability_healthy, 0.97)
    return CandidateCause(
        "none",
        round(max(healthy, 0.6), 3),
        "The curve agrees with the prediction within the uncertainty of its inputs.",
        NEXT_CHECKS["none"],
    )


def says_cleaned(note: str | None) -> bool:
    """Whether the note in the file says that the string was cleaned before the trace."""
    return _CLEANED.search((note or "").lower()) is not None


def _mentions(note: str | None, words: tuple[str, ...]) -> bool:
    text = (note or "").lower()
    return any(word in text for word in words)


def _from_steps(ledger: _Ledger, reading: SignatureReading, known: CauseContext) -> None:
    stairs = reading.stairs
    groups = sum(stair.bypass_groups for stair in stairs)
    loss = sum(stair.loss for stair in stairs)
    shading = _shading_share(reading, groups)
    evidence = " ".join(s.text for s in reading.of_kind("step"))
    shading = _moved_by_context(ledger, shading, known)
    moves = known.same_stairs is False or _mentions(known.note, SHADE_WORDS)
    unequal = 0.0 if moves else whole_modules_share(reading)
    limited = 0.94 * (1.0 - unequal)
    ledger.add("shading", limited * shading, evidence, loss)
    ledger.add("cell_fault", limited * (1.0 - shading), evidence, loss)
    if len(stairs) == 1 and groups >= 2 and stairs[0].current_fraction > 0.6:
        ledger.add("soiling", 0.05, "A band of dirt limits groups as a shade does.", loss)
    if unequal > 0.0:
        ledger.add("module_mismatch", 0.94 * unequal, f"{evidence} {WEAKER_MODULES}", loss)
        ledger.oppose("module_mismatch", SHADE_OF_WHOLE_MODULES)
    elif groups >= 3 and reading.bypass_groups >= 9:
        ledger.add("module_mismatch", 0.04, "Modules of lower current make stairs too.", loss)
    if known.same_stairs is None and known.neighbours is None:
        for cause in ("shading", "cell_fault"):
            ledger.oppose(cause, UNDECIDED_SHADE_OR_CELL)


def _shading_share(reading: SignatureReading, groups: int) -> float:
    """How far stairs speak for a shade rather than for a faulty cell, from the curve alone."""
    stairs = reading.stairs
    if groups >= 4:
        return 0.93
    if len(stairs) >= 2 or groups >= 2:
        return 0.80
    only = stairs[0]
    single_cell = only.limited_cells < 0.35
    if single_cell or only.current_fraction < 0.05:
        return 0.46
    return 0.58


def _moved_by_context(ledger: _Ledger, shading: float, known: CauseContext) -> float:
    odds = shading / (1.0 - shading)
    if _mentions(known.note, SHADE_WORDS):
        odds *= 6.0
        ledger.add("shading", 0.0, "")
        ledger.oppose("cell_fault", "The note in the file speaks of something that shades.")
    if _mentions(known.note, CELL_WORDS):
        odds /= 6.0
        ledger.oppose("shading", "The note in the file speaks of a visible cell fault.")
    if known.same_stairs is True:
        odds /= 6.0
        ledger.oppose("shading", SAME_STAIR)
    if known.same_stairs is False:
        odds *= 10.0
        ledger.oppose("cell_fault", OTHER_STAIR)
        ledger.oppose("shading", MENDED_BETWEEN)
    neighbours = known.neighbours
    if neighbours is not None and neighbours.many_have_steps:
        odds *= 4.0
        ledger.oppose(
            "cell_fault",
            f"{neighbours.strings_with_steps} neighbouring strings show stairs as well.",
        )
    return odds / (1.0 + odds)


def _from_low_current(
    ledger: _Ledger, reading: SignatureReading, signature: Signature, known: CauseContext
) -> None:
    shares = {"soiling": 0.50, "irradiance_input": 0.24, "degradation": 0.22}
    loss = float(signature.details.get("loss", 0.0))
    if _small_voltage_loss(reading) or _small_series_rise(reading) or _all_worse(reading):
        shares = {"soiling": 0.34, "irradiance_input": 0.14, "degradation": 0.48}
        ledger.add("degradation", 0.0, "")
    if known.irradiance_unsteady:
        shares = {"soiling": 0.32, "irradiance_input": 0.50, "degradation": 0.14}
    if known.cleaned:
        shares["soiling"] *= 0.2
        ledger.oppose("soiling", "The string was cleaned shortly before the trace.")
    if _mentions(known.note, SOILING_WORDS):
        shares["soiling"] = 0.75
        shares["irradiance_input"] *= 0.4
        shares["degradation"] *= 0.6
    shares = _shares_with_neighbours(ledger, shares, known)
    for cause, share in shares.items():
        ledger.add(cause, share, signature.text, loss)
        if known.neighbours is None:
            ledger.oppose(cause, UNDECIDED_CURRENT)


def _shares_with_neighbours(
    ledger: _Ledger, shares: dict[str, float], known: CauseContext
) -> dict[str, float]:
    neighbours = known.neighbours
    if neighbours is None or not neighbours.current_agrees:
        return shares
    if neighbours.combiner_is_apart:
        ledger.oppose(
            "irradiance_input",
            "Strings of other combiners, traced next before or after, have "
            f"{-100 * neighbours.own_combiner:.1f} % more current by the same sensor.",
        )
        return {"soiling": 0.54, "degradation": 0.36, "irradiance_input": 0.06}
    if neighbours.current_is_common:
        ledger.oppose(
            "degradation", "All strings of the combiner are low in current by about as much."
        )
        return {"irradiance_input": 0.55, "soiling": 0.33, "degradation": 0.08}
    ledger.oppose(
        "irradiance_input", "The combiner's other strings have the current that is expected."
    )
    return {
        "soiling": 0.62 if shares["soiling"] >= shares["degradation"] else 0.45,
        "degradation": 0.28 if shares["soiling"] >= shares["degradation"] else 0.48,
        "irradiance_input": 0.04,
    }


def _small_voltage_loss(reading: SignatureReading) -> bool:
    return reading.voltage.significant and 0.0 < reading.voltage.lost < SMALL_VOLTAGE_LOSS


def _current_somewhat_low(reading: SignatureReading) -> bool:
    """By more than chance easily does, though not by enough to be told."""
    return 1.0 - reading.current_scale > SOMEWHAT * reading.current_uncertainty


def _all_worse(reading: SignatureReading) -> bool:
    """Current, voltage and resistance all a little worse, which one age does and no one fault."""
    rise = reading.losses.get("slope_near_voc", 0.0)
    more = 0.0 < rise < MOST_SERIES_OF_AGE * reading.predicted_p_mp
    return more and _small_voltage_loss(reading) and _current_somewhat_low(reading)


def _small_series_rise(reading: SignatureReading) -> bool:
    rise = reading.losses.get("slope_near_voc", 0.0)
    return 0.0 < rise < 0.03 * reading.predicted_p_mp


def _from_excess_current(
    ledger: _Ledger, reading: SignatureReading, signature: Signature, known: CauseContext
) -> None:
    neighbours = known.neighbours
    seeming = abs(1.0 - reading.current_scale) * reading.predicted_p_mp
    if neighbours is not None and neighbours.current_agrees and not neighbours.current_is_common:
        ledger.oppose(
            "irradiance_input", "The combiner's other strings do not show the same excess."
        )
        ledger.add("irradiance_input", 0.70, signature.text, seeming)
        return
    ledger.add("irradiance_input", 0.94, signature.text, seeming)


def _from_voltage(ledger: _Ledger, reading: SignatureReading, known: CauseContext) -> None:
    voltage = reading.voltage
    if not voltage.significant:
        return
    signatures = reading.of_kind("low_voltage") + tuple(
        s for s in reading.of_kind("inputs_suspect") if s.details.get("input") != "poa_global"
    )
    evidence = " ".join(s.text for s in signatures)
    loss = reading.losses.get("low_voltage", abs(voltage.lost) * reading.predicted_p_mp)
    temperature, groups = voltage.probability_temperature, voltage.probability_groups
    aged = _aged_share(reading)
    temperature *= 1.0 - aged
    beside_more = reading.of_kind("low_current") and not _all_worse(reading)
    groups *= 0.8 if beside_more and 0.03 <= voltage.lost < SMALL_VOLTAGE_LOSS else 1.0 - aged
    temperature, groups = _voltage_with_neighbours(
        ledger, temperature, groups, known, voltage.kelvin
    )
    ledger.add("temperature_input", temperature, evidence, loss)
    ledger.add("degradation", aged, evidence, loss)
    if voltage.groups == 0:
        return
    whole_modules = voltage.groups % max(reading.bypass_diodes, 1) == 0
    missing = 0.76 if whole_modules and reading.bypass_groups > reading.bypass_diodes else 0.06
    ledger.add("bypass_short", groups * (1.0 - missing), evidence, loss)
    ledger.add("module_missing", groups * missing, evidence, loss)
    if temperature > 0.1:
        for cause in ("bypass_short", "module_missing"):
            ledger.oppose(
                cause,
                f"Cells {voltage.kelvin:.0f} K warmer than read would lower the voltage as much.",
            )


def _aged_share(reading: SignatureReading) -> float:
    """How far a loss of voltage speaks for age."""
    if not _small_voltage_loss(reading):
        return 0.0
    if _all_worse(reading):
        return AGED
    if reading.of_kind("low_current"):
        return 0.45
    return 0.25 if _current_somewhat_low(reading) else 0.05


def _voltage_with_neighbours(
    ledger: _Ledger, temperature: float, groups: float, known: CauseContext, kelvin: float
) -> tuple[float, float]:
    """Shares of a wrong temperature and of lost groups after what the neighbours show."""
    neighbours = known.neighbours
    total = temperature + groups
    if neighbours is None or not neighbours.voltage_agrees or total <= 0.0:
        return temperature, groups
    odds = (temperature + 0.01 * total) / (groups + 0.01 * total)
    if neighbours.voltage_is_common:
        for cause in ("bypass_short", "module_missing"):
            ledger.oppose(cause, "All strings of the combiner deviate in voltage alike.")
        odds *= COMMON_SPEAKS
    else:
        ledger.oppose(
            "temperature_input", "The combiner's other strings have the voltage that is expected."
        )
        odds /= OWN_SPEAKS
    off = -neighbours.own_temperature
    if off * kelvin > 0 and abs(off) > LEAST_KELVIN and abs(off - kelvin) < 0.4 * abs(kelvin):
        for cause in ("bypass_short", "module_missing"):
            ledger.oppose(
                cause,
                f"The temperature read for this string is {abs(off):.0f} K off its neighbours'.",
            )
        odds *= READING_APART_SPEAKS
    return total * odds / (1.0 + odds), total / (1.0 + odds)


def _from_slopes(
    ledger: _Ledger, reading: SignatureReading, signature: Signature, known: CauseContext
) -> None:
    loss = float(signature.details.get("loss", 0.0))
    text = signature.text
    if signature.kind == "slope_near_voc":
        aged = 0.3 if _small_series_rise(reading) and reading.of_kind("low_current") else 0.08
        if _all_worse(reading):
            aged = AGED
        ledger.add("series_resistance", 0.92 - aged, text, loss)
        ledger.add("degradation", aged, text, loss)
    elif signature.kind == "slope_near_isc" and known.irradiance_unsteady:
        drift = "The irradiance changed during the sweep, which tilts the curve as a leak does."
        ledger.add("irradiance_input", 0.62, drift, loss)
        ledger.add("shunt", 0.28, text, loss)
        ledger.oppose("shunt", drift)
    elif signature.kind == "slope_near_isc":
        ledger.add("shunt", 0.80, text, loss)
        ledger.add("module_mismatch", 0.08, text, loss)
        ledger.add("degradation", 0.06, text, loss)
        ledger.oppose("shunt", "Small stairs of unequal modules can look like a slope.")
    elif known.irradiance_unsteady:
        drift = "The irradiance changed during the sweep, which bends the curve as well."
        ledger.add("irradiance_input", 0.58, drift, loss)
        ledger.add("module_mismatch", 0.34, text, loss)
        ledger.oppose("module_mismatch", drift)
    else:
        ledger.add("module_mismatch", 0.84, text, loss)
        ledger.add("soiling", 0.06, "Uneven soiling makes modules unequal.", loss)
        ledger.add("shading", 0.06, "A graded shade makes modules unequal.", loss)
