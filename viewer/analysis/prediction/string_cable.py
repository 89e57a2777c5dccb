"""The cable between a string and where it is traced."""

from viewer.physics.cable_resistance import cable_resistance
from viewer.site_data.iv_trace import MeasuredConditions
from viewer.site_data.site_layout import StringLayout

CONDUCTOR_TEMPERATURE = 25.0
"""°C, where no air temperature was recorded; 10 K more are 4 % of the cable's resistance."""


def string_cable_resistance(
    string: StringLayout | None, read: MeasuredConditions | None = None
) -> float:
    """Resistance [ohm] of one string's cable, both conductors; 0 where none is described.

    Conductors are taken as warm as the air. Of a harness traced as one, each string has such a
    cable: connect it in series before the strings are taken in parallel.
    """
    if string is None or not string.cable_length > 0.0:
        return 0.0
    air = read.temperature_air if read is not None else None
    temperature = CONDUCTOR_TEMPERATURE if air is None else air
    return float(
        cable_resistance(
            string.cable_length, string.cable_cross_section, string.cable_material, temperature
        )
    )
