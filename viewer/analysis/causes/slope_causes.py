"""What slopes and a rounded knee point to: contacts, leaks, unequal modules, a moving sun."""

from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.cause_ledger import Ledger
from viewer.analysis.causes.signs_of_age import (
    AGED,
    all_worse,
    current_low_as_by_age,
    small_series_rise,
)
from viewer.analysis.results.trace_result import Signature
from viewer.analysis.signatures.signature_reading import SignatureReading

SERIES_EXPLAINED = 0.92
"""The shares of a contact and of age together."""
AGE_IN_SERIES, AGE_BESIDE_LOW_CURRENT = 0.08, 0.3
"""Age's share of a higher resistance, and where it is small beside a current a little low."""
LEAK_EXPLAINED = 0.94
"""The shares of all causes of a leak together."""
TILTED = "The irradiance changed during the sweep, which tilts the curve as a leak does."
BENT = "The irradiance changed during the sweep, which bends the curve as well."


def from_slopes(
    ledger: Ledger, reading: SignatureReading, signature: Signature, known: CauseContext
) -> None:
    """What a signature of kind slope_near_voc, slope_near_isc or rounded_knee points to."""
    if signature.kind == "slope_near_voc":
        _from_series(ledger, reading, signature)
    elif signature.kind == "slope_near_isc":
        _from_leak(ledger, reading, signature, known.irradiance_unsteady)
    else:
        _from_knee(ledger, signature, known.irradiance_unsteady)


def _from_series(ledger: Ledger, reading: SignatureReading, signature: Signature) -> None:
    aged = AGE_IN_SERIES
    if all_worse(reading):
        aged = AGED
    elif small_series_rise(reading) and current_low_as_by_age(reading):
        aged = AGE_BESIDE_LOW_CURRENT
    loss = signature.loss
    ledger.add("series_resistance", SERIES_EXPLAINED - aged, signature.text, loss)
    ledger.add("degradation", aged, signature.text, loss)


def _from_leak(
    ledger: Ledger, reading: SignatureReading, signature: Signature, unsteady: bool
) -> None:
    text, loss = signature.text, signature.loss
    if unsteady:
        ledger.add("irradiance_input", 0.62, TILTED, loss)
        ledger.add("shunt", 0.28, text, loss)
        ledger.oppose("shunt", TILTED)
        return
    if all_worse(reading):
        ledger.add("shunt", LEAK_EXPLAINED - AGED, text, loss)
        ledger.add("degradation", AGED, text, loss)
        return
    ledger.add("shunt", 0.80, text, loss)
    ledger.add("module_mismatch", 0.08, text, loss)
    ledger.add("degradation", 0.06, text, loss)
    ledger.oppose("shunt", "Small steps of unequal modules can look like a slope.")


def _from_knee(ledger: Ledger, signature: Signature, unsteady: bool) -> None:
    text, loss = signature.text, signature.loss
    if unsteady:
        ledger.add("irradiance_input", 0.58, BENT, loss)
        ledger.add("module_mismatch", 0.34, text, loss)
        ledger.oppose("module_mismatch", BENT)
        return
    ledger.add("module_mismatch", 0.84, text, loss)
    ledger.add("soiling", 0.06, "Uneven soiling makes modules unequal.", loss)
    ledger.add("shading", 0.06, "A graded shade makes modules unequal.", loss)
