"""Readings and neighbours made by hand, for tests of the causes they lead to."""

from dataclasses import replace

from viewer.analysis.causes.neighbours import NeighbourEvidence
from viewer.analysis.signatures.signature_reading import SignatureReading, StairReading
from viewer.analysis.signatures.signature_words import (
    low_current,
    low_voltage,
    step,
)
from viewer.analysis.signatures.voltage_reading import VoltageReading, read_voltage

SOUND_VOLTAGE = read_voltage(0.0, 0.004, 60, 3, -0.0029)


def reading(**changes: object) -> SignatureReading:
    """A reading that shows nothing, with changes."""
    plain = SignatureReading(
        signatures=(), bypass_groups=60, current_scale=1.0, current_uncertainty=0.02,
        voltage=SOUND_VOLTAGE, current_spread=0.0, stairs=(), losses={}, p_mp=5000.0,
        predicted_p_mp=5000.0, roughness=1.0,
    )  # fmt: skip
    return replace(plain, **changes)


def one_stair(groups: int = 1, cells: float = 0.9, level: float = 0.4) -> SignatureReading:
    stair = StairReading(groups, level, 13.0 * groups, cells, 100.0 * groups)
    return reading(
        signatures=(step(level, 13.0 * groups, groups, 100.0 * groups, 5000.0),), stairs=(stair,)
    )


def soiled(lost: float = 0.12) -> SignatureReading:
    return reading(
        signatures=(low_current(lost, 0.02, lost * 5000.0, 5000.0),),
        current_scale=1.0 - lost,
        losses={"low_current": lost * 5000.0},
    )


def lost_groups(voltage: VoltageReading) -> SignatureReading:
    return reading(
        signatures=(low_voltage(40.0, voltage, voltage.groups, 3, 200.0, 5000.0),),
        voltage=voltage,
        losses={"low_voltage": 200.0},
    )


def neighbours(current: float = 0.0, voltage: float = 0.0, steps: int = 0) -> NeighbourEvidence:
    """Twelve neighbours with that median; the string itself deviates by -12 % and -5 %."""
    return NeighbourEvidence(
        12, current, voltage, -0.12 - current, -0.05 - voltage,
        (-0.12 - current) / 0.01, (-0.05 - voltage) / 0.004, steps,
    )  # fmt: skip


def likelihood(causes: tuple, name: str) -> float:
    return next((c.likelihood for c in causes if c.cause == name), 0.0)
