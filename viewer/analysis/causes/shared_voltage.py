"""A voltage that all strings of a combiner lack, where one sweep alone took it for a dead group.

A group without current is missing at open circuit, as so much warmer cells would be. Where a wrong
temperature takes about a group's voltage from every string, the noise of one of them may make the
dead group the better story; its neighbours know better.
"""

from dataclasses import replace

from viewer.analysis.causes.neighbours import COMMON_VOLTAGE, OUTLYING, NeighbourEvidence
from viewer.analysis.signatures.lost_groups import HARDLY_ANY
from viewer.analysis.signatures.signature_reading import SignatureReading
from viewer.analysis.signatures.signature_words import low_voltage, wrong_temperature
from viewer.analysis.signatures.voltage_reading import read_voltage


def with_shared_voltage(
    reading: SignatureReading, evidence: NeighbourEvidence, voltage_per_kelvin: float
) -> tuple[SignatureReading, NeighbourEvidence]:
    """Both with dead groups as what the neighbours lack too; unchanged where they do not.

    `voltage_per_kelvin` is the relative change of open-circuit voltage [1/K].
    """
    dead = [one for one in reading.stairs if one.current_fraction < HARDLY_ANY]
    share = sum(one.bypass_groups for one in dead) / reading.bypass_groups
    own = evidence.own_voltage - share
    spread = evidence.voltage_spread
    shared = (
        dead
        and evidence.voltage_outlies
        and evidence.common_voltage < -COMMON_VOLTAGE
        and abs(own) < OUTLYING * spread
    )
    if not shared:
        return reading, evidence
    beside = replace(evidence, own_voltage=own, own_voltage_spreads=own / spread)
    voltage = read_voltage(
        reading.voltage.lost + share,
        reading.voltage.uncertainty,
        reading.bypass_groups,
        reading.bypass_diodes,
        voltage_per_kelvin,
    )
    loss = sum(one.loss for one in dead)
    kept = tuple(one for one in reading.signatures if one.kind != "step" or one.size >= HARDLY_ANY)
    losses = dict(reading.losses)
    losses["step"] = losses.get("step", 0.0) - loss
    if voltage.significant:
        volts = voltage.lost * reading.predicted_v_oc
        told = low_voltage(
            volts, voltage, 0, reading.bypass_diodes, loss, reading.predicted_p_mp, reading.part
        )
        kept = (*kept, told, wrong_temperature(voltage))
        losses["low_voltage"] = losses.get("low_voltage", 0.0) + loss
    stairs = tuple(one for one in reading.stairs if one.current_fraction >= HARDLY_ANY)
    return replace(
        reading,
        signatures=kept,
        stairs=stairs,
        losses=losses,
        voltage=replace(voltage, groups=0, probability_groups=0.0),
    ), beside
