"""From signatures to ranked candidate causes, never surer than the evidence allows.

Every signature shares a weight among the causes that can produce it; evidence from outside the
curve (neighbouring strings, an earlier trace, a note) moves the shares. A cause that several
signatures point to gains from each. The shares are engineering judgement, not statistics of
failures, and stand in the file of their signature, one place each.
"""

from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.cause_ledger import SUREST, Ledger
from viewer.analysis.causes.cause_words import MOVED, NEXT_CHECKS
from viewer.analysis.causes.current_causes import from_excess_current, from_low_current
from viewer.analysis.causes.slope_causes import from_slopes
from viewer.analysis.causes.stair_causes import from_stairs
from viewer.analysis.causes.voltage_causes import from_voltage
from viewer.analysis.results.trace_result import CandidateCause
from viewer.analysis.signatures.signature_reading import SignatureReading

UNSTEADY_ALONE = 0.5
"""Likelihood of a wrong irradiance that moved during a sweep which shows nothing else."""
SOUND_IN_DOUBT = 0.6
"""Of a string that shows nothing: at least so likely no fault, for that no deviation is beyond its
uncertainty is what sound strings are told by; and no likelier where a reading was missing and the
curve stood in for it, so that what it lost is hidden (judgement)."""
_READINGS = {"temperature_cell": "a temperature reading", "poa_global": "an irradiance reading"}


def rank_causes(
    reading: SignatureReading, context: CauseContext | None = None
) -> tuple[CandidateCause, ...]:
    """Candidate causes of a reading; `none` where nothing is significant.

    The likely ones come first, of these those that cost most; then the others.
    """
    known = context or CauseContext()
    ledger = Ledger()
    if reading.of_kind("step"):
        from_stairs(ledger, reading, known)
    for signature in reading.of_kind("low_current"):
        from_low_current(ledger, reading, signature, known)
    from_voltage(ledger, reading, known)
    for signature in reading.signatures:
        if signature.kind in ("slope_near_voc", "slope_near_isc", "rounded_knee"):
            from_slopes(ledger, reading, signature, known)
        if signature.details.get("input") == "poa_global":
            from_excess_current(ledger, reading, signature, known)
    if not ledger.doubt and known.irradiance_unsteady:
        ledger.add("irradiance_input", UNSTEADY_ALONE, MOVED)
    if not ledger.doubt:
        return (_nothing_found(reading, known),)
    return ledger.ranked()


def _nothing_found(reading: SignatureReading, known: CauseContext) -> CandidateCause:
    healthy = max(min(reading.voltage.probability_healthy, SUREST), SOUND_IN_DOUBT)
    evidence = "The curve agrees with the prediction within the uncertainty of its inputs"
    next_check = NEXT_CHECKS["none"]
    if known.curve_decides:
        healthy = SOUND_IN_DOUBT
        lacking = " and ".join(_READINGS[name] for name in known.curve_decides)
        evidence += f", as far as it can be judged without {lacking}"
        next_check += f" Trace it again with {lacking}."
    return CandidateCause("none", round(healthy, 3), f"{evidence}.", next_check)
