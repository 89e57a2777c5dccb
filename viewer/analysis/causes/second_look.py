"""A reading seen again beside the string's neighbours, the best reference that exists.

Neighbours share sun, sensors and model, so a deviation that all of them have is no fault of the
string, and one that only the string has shows at sizes that a lone sweep could not tell from a
wrong reading. Only voltage and current are looked at again; shape needs no neighbours.
"""

import math
from dataclasses import replace

from viewer.analysis.causes.neighbours import NeighbourEvidence
from viewer.analysis.results.trace_result import Signature
from viewer.analysis.signatures.signature_reading import SignatureReading
from viewer.analysis.signatures.signature_words import low_current_beside, low_voltage_beside
from viewer.analysis.signatures.voltage_reading import VoltageReading, read_voltage

ALONE_VOLTAGE = 0.0012
"""What the fit of one sweep adds to the spread of neighbours' voltages (relative)."""
LEAST_OWN_CURRENT = 0.03
OWN_CURRENT_SPREADS = 4.0
"""A current lower than the neighbours' by both of these is the string's own."""


def beside_neighbours(
    reading: SignatureReading, evidence: NeighbourEvidence | None, voltage_per_kelvin: float
) -> SignatureReading:
    """The reading with what the neighbours add and take away; unchanged without enough of them.

    `voltage_per_kelvin` is the relative change of open-circuit voltage [1/K].
    """
    if evidence is None or not evidence.enough:
        return reading
    seen = _voltage(reading, evidence, voltage_per_kelvin)
    return _current(seen, evidence)


def _voltage(
    reading: SignatureReading, evidence: NeighbourEvidence, voltage_per_kelvin: float
) -> SignatureReading:
    if not evidence.voltage_agrees:
        return reading
    if evidence.voltage_outlies:
        if reading.voltage.significant and reading.voltage.groups_lead:
            return reading
        own = _own_voltage(_without_voltage(reading), evidence, voltage_per_kelvin)
        return own if own.voltage.significant else reading
    if not reading.voltage.significant:
        return reading
    common = read_voltage(
        -evidence.common_voltage,
        reading.voltage.uncertainty,
        reading.bypass_groups,
        reading.bypass_diodes,
        voltage_per_kelvin,
    )
    if common.significant:
        return reading
    return _without_voltage(reading)


def _own_voltage(
    reading: SignatureReading, evidence: NeighbourEvidence, voltage_per_kelvin: float
) -> SignatureReading:
    """A voltage loss that shows only against the neighbours, if it is one of whole groups."""
    spread = math.hypot(evidence.voltage_spread, ALONE_VOLTAGE)
    own = read_voltage(
        -evidence.own_voltage,
        spread,
        reading.bypass_groups,
        reading.bypass_diodes,
        voltage_per_kelvin,
    )
    if not own.significant or not own.groups_lead or own.lost <= 0.0:
        return reading
    loss = own.lost * reading.p_mp
    volts = own.lost * reading.predicted_v_oc
    signature = low_voltage_beside(volts, own, loss, reading.predicted_p_mp, reading.part)
    return replace(_added(reading, signature, loss), voltage=own)


def _without_voltage(reading: SignatureReading) -> SignatureReading:
    def about_voltage(signature: Signature) -> bool:
        return (
            signature.kind == "low_voltage" or signature.details.get("input") == "temperature_cell"
        )

    kept = tuple(s for s in reading.signatures if not about_voltage(s))
    losses = {kind: loss for kind, loss in reading.losses.items() if kind != "low_voltage"}
    old = reading.voltage
    nothing = VoltageReading(old.lost, old.uncertainty, 0, 1.0, 0.0, 0.0, old.kelvin)
    return replace(reading, signatures=kept, losses=losses, voltage=nothing)


def _current(reading: SignatureReading, evidence: NeighbourEvidence) -> SignatureReading:
    own = -evidence.own_current
    if not evidence.current_agrees or reading.of_kind("low_current"):
        return reading
    if own < LEAST_OWN_CURRENT or -evidence.own_current_spreads < OWN_CURRENT_SPREADS:
        return reading
    loss = own * reading.p_mp
    signature = low_current_beside(own, evidence.current_spread, loss, reading.predicted_p_mp)
    return _added(reading, signature, loss)


def _added(reading: SignatureReading, signature: Signature, loss: float) -> SignatureReading:
    losses = dict(reading.losses)
    losses[signature.kind] = losses.get(signature.kind, 0.0) + loss
    return replace(reading, signatures=(*reading.signatures, signature), losses=losses)
