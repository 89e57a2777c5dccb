"""What a current that is low or too high all along the curve points to."""

from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.cause_ledger import Ledger
from viewer.analysis.causes.cause_words import UNDECIDED_CURRENT
from viewer.analysis.causes.field_notes import mentions
from viewer.analysis.causes.signs_of_age import all_worse, small_series_rise, small_voltage_loss
from viewer.analysis.results.trace_result import Signature
from viewer.analysis.signatures.signature_reading import SignatureReading

SOILING_WORDS = ("dirt", "dust", "soil", "pollen", "sand", "mud", "snow")
EXCESS_EXPLAINED, EXCESS_OF_ONE = 0.94, 0.70
"""How far an excess of current speaks for the irradiance reading, and where others lack it."""


def from_low_current(
    ledger: Ledger, reading: SignatureReading, signature: Signature, known: CauseContext
) -> None:
    """What a current below the prediction points to."""
    shares = {"soiling": 0.50, "irradiance_input": 0.24, "degradation": 0.22}
    if small_voltage_loss(reading) or small_series_rise(reading) or all_worse(reading):
        shares = {"soiling": 0.34, "irradiance_input": 0.14, "degradation": 0.48}
    if known.irradiance_unsteady:
        shares = {"soiling": 0.32, "irradiance_input": 0.50, "degradation": 0.14}
    if known.cleaned:
        shares["soiling"] *= 0.2
        ledger.oppose("soiling", "The string was cleaned shortly before the trace.")
    if mentions(known.note, SOILING_WORDS):
        shares["soiling"] = 0.75
        shares["irradiance_input"] *= 0.4
        shares["degradation"] *= 0.6
    shares = _shares_with_neighbours(ledger, shares, known)
    for cause, share in shares.items():
        ledger.add(cause, share, signature.text, signature.loss)
        if known.neighbours is None:
            ledger.oppose(cause, UNDECIDED_CURRENT)


def _shares_with_neighbours(
    ledger: Ledger, shares: dict[str, float], known: CauseContext
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


def from_excess_current(
    ledger: Ledger, reading: SignatureReading, signature: Signature, known: CauseContext
) -> None:
    """What a current above the prediction points to, which no string makes of itself."""
    neighbours = known.neighbours
    share = EXCESS_EXPLAINED
    if neighbours is not None and neighbours.current_agrees and not neighbours.current_is_common:
        share = EXCESS_OF_ONE
        ledger.oppose(
            "irradiance_input", "The combiner's other strings do not show the same excess."
        )
    seeming = abs(1.0 - reading.current_scale) * reading.predicted_p_mp
    ledger.add("irradiance_input", share, signature.text, seeming)
