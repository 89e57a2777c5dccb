"""What age does to a curve: a little less current and voltage and a little more resistance.

The limits are judgement.
"""

from viewer.analysis.signatures.signature_reading import SignatureReading

SMALL_CURRENT_LOSS = 0.20
"""Age takes half a per cent a year, or one: more than this fraction is something else."""
SMALL_VOLTAGE_LOSS = 0.045
"""A voltage loss below this fraction may go with age."""
MOST_VOLTAGE_OF_AGE = 0.06
"""More may go with age where current and resistance are told to be worse as well, for that three
faults come together is rare."""
SMALL_SERIES_LOSS = 0.03
"""Of the power: so little more resistance, beside less current, may go with age."""
MOST_SERIES_OF_AGE = 0.06
"""Of the power: more than that is a faulty contact rather than age."""
SOMEWHAT = 1.2
"""Standard deviations; age takes some current as well as voltage."""
AGED = 0.8
"""How far current, voltage and resistance that are all somewhat worse speak for age."""


def small_voltage_loss(reading: SignatureReading) -> bool:
    return reading.voltage.significant and 0.0 < reading.voltage.lost < SMALL_VOLTAGE_LOSS


def current_somewhat_low(reading: SignatureReading) -> bool:
    """By more than chance easily does, though not by enough to be told."""
    return 1.0 - reading.current_scale > SOMEWHAT * reading.current_uncertainty


def current_low_as_by_age(reading: SignatureReading) -> bool:
    """Whether a low current is told, and by no more than age takes."""
    little = 1.0 - reading.current_scale < SMALL_CURRENT_LOSS
    return little and bool(reading.of_kind("low_current"))


def all_worse(reading: SignatureReading) -> bool:
    """Current, voltage and resistance all a little worse, which one age does and no one fault."""
    if not 0.0 < _series_loss(reading) < MOST_SERIES_OF_AGE or not reading.voltage.significant:
        return False
    lost = reading.voltage.lost
    if current_low_as_by_age(reading):
        return 0.0 < lost < MOST_VOLTAGE_OF_AGE
    return 0.0 < lost < SMALL_VOLTAGE_LOSS and current_somewhat_low(reading)


def small_series_rise(reading: SignatureReading) -> bool:
    return 0.0 < _series_loss(reading) < SMALL_SERIES_LOSS


def _series_loss(reading: SignatureReading) -> float:
    """What more resistance costs, over the predicted power."""
    return reading.losses.get("slope_near_voc", 0.0) / reading.predicted_p_mp
