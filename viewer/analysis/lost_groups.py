"""Voltage that a fit finds missing, and the fit again with exactly the groups that are lost."""

import math
from dataclasses import replace

import numpy as np

from viewer.analysis.reduced_string import (
    GROUPS,
    KNEE,
    SERIES,
    SHIFT,
    STAIR_LEAK,
    Array,
    stair_count,
    stair_place,
)
from viewer.analysis.signature_choice import LEAKING_GROUPS, MISMATCH, Choice
from viewer.analysis.signature_fit import BASE, LEAKING_WIDTH, Fit, free_places
from viewer.analysis.signature_reading import Situation
from viewer.analysis.voltage_reading import KNEE_SHARE, VoltageReading, read_voltage

STAIRS_ON_VOLTAGE = 0.012
"""How uncertain the voltage becomes when stairs take all of the string (relative)."""
LIGHT_PER_KNEE = 0.06
"""Voltage (in units) that a bend of the knee stands for per e-fold of irradiance: about the
thermal voltage over the open-circuit voltage."""
KNEE_TO_SERIES = 0.12
"""A bend of the knee and a series resistance that agree at maximum power at 1000 W/m² (in units).

The datasheet fixes maximum power there, so a wrong diode factor is made good by resistance; as
resistance counts less in less light, so does what is made good.
"""
MOST_FIT_UNCERTAINTY = 0.02


def extra_series(vector: Array, suns: float) -> float:
    """Series resistance more than predicted (in units), after what the knee accounts for."""
    return float(vector[SERIES]) + KNEE_TO_SERIES * suns * float(vector[KNEE])


def voltage_of_fit(fit: Fit, groups: int, known: Situation) -> VoltageReading:
    """What the voltage a fit finds may mean; `groups` are the string's bypass groups."""
    knee = float(fit.vector[KNEE])
    lost = (1.0 - fit.present) - float(fit.vector[SHIFT]) + _light_bias(knee, known)
    given = known.uncertainty
    from_fit = min(fit.uncertainty(SHIFT) * max(fit.roughness, 1.0), MOST_FIT_UNCERTAINTY)
    spread = math.sqrt(
        from_fit**2
        + (STAIRS_ON_VOLTAGE * fit.stair_share) ** 2
        + (given.temperature * given.voltage_per_kelvin) ** 2
        + given.module_voltage**2 / max(groups / known.bypass_diodes, 1.0)
        + given.prediction_voltage**2
    )
    series = extra_series(fit.vector, known.suns)
    return read_voltage(
        lost,
        spread,
        groups,
        known.bypass_diodes,
        given.voltage_per_kelvin,
        series - KNEE_SHARE * (1.0 - fit.present),
    )


def _light_bias(knee: float, known: Situation) -> float:
    """What a diode factor unlike the predicted one does to the voltage in less light.

    The knee shows the difference of the diode factors; the voltage falls with the logarithm of
    irradiance in proportion to the diode factor.
    """
    return LIGHT_PER_KNEE * knee * math.log(known.suns) if known.irradiance else 0.0


def with_lost_groups(choice: Choice, known: Situation) -> tuple[Fit, VoltageReading]:
    """Read the voltage; if whole groups are lost, fit again with exactly those absent."""
    fit, groups = choice.fit, choice.problem.groups
    reading = voltage_of_fit(fit, groups, known)
    lost = reading.groups if reading.significant and reading.groups_lead else 0
    present = 1.0 - lost / groups
    if abs(present - fit.present) < 1e-9 or choice.explanation == MISMATCH:
        return fit, reading
    start = fit.vector.copy()
    start[SHIFT] += fit.present - present
    if choice.explanation == LEAKING_GROUPS:
        free = np.array([*BASE, stair_place(0, GROUPS), stair_place(0, STAIR_LEAK)])
        problem = replace(choice.problem, leak_width=LEAKING_WIDTH)
    else:
        free = free_places(BASE, stair_count(start), fixed_groups=True)
        problem = choice.problem
    fit = problem.fit(start, present, free, 8)
    return fit, voltage_of_fit(fit, groups, known)
