"""What a deviating voltage points to: lost groups, a wrong temperature, or age."""

from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.cause_ledger import Ledger
from viewer.analysis.causes.neighbours import NeighbourEvidence
from viewer.analysis.causes.signs_of_age import (
    AGED,
    all_worse,
    current_low_as_by_age,
    current_somewhat_low,
    small_voltage_loss,
)
from viewer.analysis.signatures.signature_reading import SignatureReading

COMMON_SPEAKS, OWN_SPEAKS, READING_APART_SPEAKS = 20.0, 6.0, 30.0
"""By what factor the odds of a wrong temperature change when the neighbours deviate alike, do
not deviate, or had another temperature read that would explain it."""
LEAST_KELVIN = 4.0
WITHIN = 0.4
"""A temperature read that far off its neighbours' [K], and by as much as the voltage says up to
this share, explains the voltage."""
NEVER_SURE = 0.01
"""Share that either keeps before the neighbours are heard, so that they can still move it."""
AGE_BESIDE_LOW_CURRENT, AGE_BESIDE_SOMEWHAT_LESS, AGE_ALONE = 0.45, 0.25, 0.05
"""How far a small loss of voltage speaks for age beside a low current, beside one that is lower by
more than chance easily does, and by itself."""
MUCH_FOR_AGE, GROUPS_BESIDE_LOW_CURRENT = 0.03, 0.8
"""From this loss of voltage on lost groups keep that share beside age where the current is low: so
much voltage seldom goes with age."""
WHOLE_MODULES_MISSING, GROUPS_MISSING = 0.76, 0.06
"""Share of a missing module where the lost groups are whole modules' and where they are not."""
TOO_FEW_LISTED = "The voltage is that of more modules than are listed: count them."
OPEN_TEMPERATURE = 0.1
"""From this share on a wrong temperature is said to speak against lost groups."""


def from_voltage(ledger: Ledger, reading: SignatureReading, known: CauseContext) -> None:
    """What the voltage points to, if it deviates by more than it is uncertain."""
    voltage = reading.voltage
    if not voltage.significant:
        return
    signatures = reading.of_kind("low_voltage") + tuple(
        s for s in reading.of_kind("inputs_suspect") if s.details.get("input") != "poa_global"
    )
    evidence = " ".join(s.text for s in signatures)
    loss = reading.losses.get("low_voltage", abs(voltage.lost) * reading.predicted_p_mp)
    aged = _aged_share(reading)
    temperature = voltage.probability_temperature * (1.0 - aged)
    much_for_age = aged == AGE_BESIDE_LOW_CURRENT and voltage.lost >= MUCH_FOR_AGE
    kept = GROUPS_BESIDE_LOW_CURRENT if much_for_age else 1.0 - aged
    temperature, groups = _beside_neighbours(
        ledger, temperature, voltage.probability_groups * kept, known.neighbours, voltage.kelvin
    )
    ledger.add("temperature_input", temperature, evidence, loss)
    if any("modules_more" in s.details for s in signatures):
        ledger.oppose("temperature_input", TOO_FEW_LISTED)
    ledger.add("degradation", aged, evidence, loss)
    if voltage.groups == 0:
        return
    whole_modules = voltage.groups % max(reading.bypass_diodes, 1) == 0
    of_several = reading.bypass_groups > reading.bypass_diodes
    missing = WHOLE_MODULES_MISSING if whole_modules and of_several else GROUPS_MISSING
    if not reading.bypassed:
        missing = 1.0
    ledger.add("bypass_short", groups * (1.0 - missing), evidence, loss)
    ledger.add("module_missing", groups * missing, evidence, loss)
    if temperature > OPEN_TEMPERATURE:
        warmer = f"Cells {voltage.kelvin:.0f} K warmer than read would lower the voltage as much."
        _oppose_lost_groups(ledger, warmer)


def _aged_share(reading: SignatureReading) -> float:
    """How far a loss of voltage speaks for age."""
    if all_worse(reading):
        return AGED
    if not small_voltage_loss(reading):
        return 0.0
    if current_low_as_by_age(reading):
        return AGE_BESIDE_LOW_CURRENT
    return AGE_BESIDE_SOMEWHAT_LESS if current_somewhat_low(reading) else AGE_ALONE


def _beside_neighbours(
    ledger: Ledger,
    temperature: float,
    groups: float,
    neighbours: NeighbourEvidence | None,
    kelvin: float,
) -> tuple[float, float]:
    """Shares of a wrong temperature and of lost groups after what the neighbours show."""
    total = temperature + groups
    if neighbours is None or not neighbours.voltage_agrees or total <= 0.0:
        return temperature, groups
    open_still = NEVER_SURE * total
    odds = (temperature + open_still) / (groups + open_still)
    if neighbours.voltage_is_common:
        _oppose_lost_groups(ledger, neighbours.voltage_told)
        odds *= COMMON_SPEAKS
    else:
        ledger.oppose("temperature_input", neighbours.voltage_told)
        odds /= OWN_SPEAKS
    off = -neighbours.own_temperature
    if off * kelvin > 0 and abs(off) > LEAST_KELVIN and abs(off - kelvin) < WITHIN * abs(kelvin):
        _oppose_lost_groups(
            ledger,
            f"The temperature read for this string is {abs(off):.0f} K off its neighbours'.",
        )
        odds *= READING_APART_SPEAKS
    return total * odds / (1.0 + odds), total / (1.0 + odds)


def _oppose_lost_groups(ledger: Ledger, why: str) -> None:
    for cause in ("bypass_short", "module_missing"):
        ledger.oppose(cause, why)
