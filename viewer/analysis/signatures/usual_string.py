"""What a string without further faults is like: how unusual a fit's numbers are.

A fit leaves voltage, series resistance and leak free, for each may be what is wrong. But a fault
in each of them is rare, so that of two explanations that fit alike the one is likelier whose
voltage is as predicted (or that of whole groups lost) and whose resistance is usual.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.signatures.signature_reading import Situation
from viewer.analysis.signatures.voltage_reading import (
    FAULT_BEFORE,
    FAULTY_SERIES,
    GROUPS_BEFORE,
    HEALTHY_BEFORE,
    TEMPERATURE_BEFORE,
    USUAL_SERIES,
    WRONG_TEMPERATURE,
    how_common,
)
from viewer.analysis.string_fit.reduced_string import KNEE, LEAK, SERIES, SHIFT

Array = NDArray[np.float64]

LIGHT_PER_KNEE = 0.06
"""Voltage (in units) that a bend of the knee stands for per e-fold of irradiance: about the
thermal voltage over the open-circuit voltage."""
KNEE_TO_SERIES = 0.12
"""A bend of the knee and a series resistance that agree at maximum power at 1000 W/m² (in units).

The datasheet fixes maximum power there, so a wrong diode factor is made good by resistance; as
resistance counts less in less light, so does what is made good.
"""
USUAL_GAIN, USUAL_LEAK = 0.001, 0.002
"""More voltage and more leak than predicted: where sound strings that were simulated cell by cell
end up on the mean (in units)."""
USUAL_KNEE, KNEE_SPREAD = -0.07, 0.10
"""The knee's bend from the diode factor that a datasheet leaves open, where sound strings end up;
searches hold it closer to the prediction (Prior)."""
FAULTY_LEAK = 0.2
"""Spread of the leak among strings that have one, in units of i_sc at v_oc (judgement)."""
NEVER = 1e-3
"""Density that is left to what has no explanation at all."""


@dataclass(frozen=True)
class UsualString:
    """Spreads of a sound string's voltage, series resistance and leak, all in units (k = 1)."""

    groups: int
    bypass_diodes: int
    suns: float
    light: float
    """Logarithm of the irradiance over 1000 W/m², 0 where it is not told."""
    voltage: float
    wrong_voltage: float
    """Spread of the voltage where the temperature is plainly misread."""
    series: float
    leak: float

    def lost(self, vector: Array, present: float) -> float:
        """Voltage lost beside the usual, of which the knee's part in less light is none."""
        knee = float(vector[KNEE])
        missing = (1.0 - present) - float(vector[SHIFT])
        return missing + USUAL_GAIN + LIGHT_PER_KNEE * knee * self.light

    def extra_series(self, vector: Array) -> float:
        """Series resistance more than predicted, after what the knee accounts for."""
        return float(vector[SERIES]) + KNEE_TO_SERIES * self.suns * float(vector[KNEE])

    def may_be_unequal(self, vector: Array) -> bool:
        """Whether there is a leak that may in truth be modules of unequal current."""
        return float(vector[LEAK]) - USUAL_LEAK > 2.0 * self.leak

    def price(self, vector: Array, present: float) -> float:
        """How unusual the numbers are, as a squared deviation (0 for a usual string)."""
        lost = self._lost_price(self.lost(vector, present))
        series = _price_of_more(
            self.extra_series(vector) - USUAL_SERIES, self.series, FAULTY_SERIES
        )
        leak = _price_of_more(float(vector[LEAK]) - USUAL_LEAK, self.leak, FAULTY_LEAK)
        return lost + series + leak

    def _common(self, count: int) -> float:
        return how_common(count, self.groups, self.bypass_diodes)

    def _lost_price(self, lost: float) -> float:
        """By the likeliest story: as predicted, whole groups lost, or a wrong temperature."""
        sigma = self.voltage
        stories = [
            HEALTHY_BEFORE * _bell(lost, sigma),
            TEMPERATURE_BEFORE * _bell(lost, self.wrong_voltage),
            NEVER,
        ]
        nearest = round(lost * self.groups)
        for count in (nearest - 1, nearest, nearest + 1):
            if 0 < count < self.groups:
                common = GROUPS_BEFORE * self._common(count)
                stories.append(common * _bell(lost - count / self.groups, sigma))
        return -2.0 * math.log(max(stories) / (HEALTHY_BEFORE * _bell(0.0, sigma)))

    def ties(
        self, vector: Array, present: float, lost_groups: int | None = None
    ) -> tuple[Array, Array]:
        """Rows (n, p) and values (n,) with `rows @ change = values` where the string is usual.

        Each is divided by its spread, wide where the fit says that there is a fault. The voltage
        is that of `lost_groups`, or of the nearest whole number, missing.
        """
        lost, extra = self.lost(vector, present), self.extra_series(vector)
        leak = float(vector[LEAK]) - USUAL_LEAK
        rows, values = np.zeros((4, vector.size)), np.zeros(4)
        groups = max(round(lost * self.groups), 0) if lost_groups is None else lost_groups
        off = lost - groups / self.groups
        spread = self.voltage
        if lost_groups is None and abs(off) > 3.0 * self.voltage:
            spread = self.wrong_voltage
        rows[0, SHIFT], rows[0, KNEE] = -1.0 / spread, LIGHT_PER_KNEE * self.light / spread
        values[0] = -off / spread
        spread = self.series if abs(extra) < 3.0 * self.series else FAULTY_SERIES
        rows[1, SERIES], rows[1, KNEE] = 1.0 / spread, KNEE_TO_SERIES * self.suns / spread
        values[1] = (USUAL_SERIES - extra) / spread
        spread = self.leak if abs(leak) < 3.0 * self.leak else FAULTY_LEAK
        rows[2, LEAK] = 1.0 / spread
        values[2] = -leak / spread
        rows[3, KNEE] = 1.0 / KNEE_SPREAD
        values[3] = (USUAL_KNEE - float(vector[KNEE])) / KNEE_SPREAD
        return rows, values

    def price_of_lost(self, groups: int) -> float:
        """How unusual it is that so many groups are lost."""
        if groups == 0:
            return 0.0
        common = GROUPS_BEFORE * self._common(groups)
        return 2.0 * math.log(HEALTHY_BEFORE / common)


def usual_string(groups: int, known: Situation) -> UsualString:
    """From what is known of the inputs; `groups` are the string's bypass groups."""
    given = known.uncertainty
    per_kelvin = abs(given.voltage_per_kelvin)
    voltage = math.sqrt(
        (given.temperature * per_kelvin) ** 2
        + given.module_voltage**2 / max(groups / known.bypass_diodes, 1.0)
        + given.prediction_voltage**2
    )
    return UsualString(
        groups,
        known.bypass_diodes,
        known.suns,
        math.log(known.suns) if known.irradiance else 0.0,
        voltage,
        math.hypot(voltage, WRONG_TEMPERATURE * per_kelvin),
        given.series,
        given.leak,
    )


def _bell(value: float, spread: float) -> float:
    return math.exp(-0.5 * (value / spread) ** 2) / spread


def _price_of_more(value: float, usual: float, faulty: float) -> float:
    """A fault makes the value larger, never smaller."""
    sound = (1.0 - FAULT_BEFORE) * _bell(value, usual)
    fault = 2.0 * FAULT_BEFORE * _bell(value, faulty) if value > 0.0 else 0.0
    return -2.0 * math.log((sound + fault + NEVER) / ((1.0 - FAULT_BEFORE) / usual))
