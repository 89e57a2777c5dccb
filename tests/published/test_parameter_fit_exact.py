"""Five parameters of exact curves, against mpmath.

The curves follow the plan of the public I-V curve fitting benchmark of C. Hansen and others
(case 1: 72 cells, photocurrent 1 and 8 A, saturation current 5e-10 and 3e-8 A, series resistance
0.1 and 1 ohm, shunt resistance 300 and 3000 ohm, diode factor 1.01 and 1.3, at 25 °C), and add
a thin film of 140 cells; they are computed here with 30 digits.
"""

from itertools import product

import mpmath
import numpy as np
import pytest
from scipy.constants import Boltzmann, elementary_charge

from viewer.physics.curve_fit.parameter_fit import fit_parameters_of_many

THERMAL = Boltzmann * 298.15 / elementary_charge
CASES = [
    (photo, saturation, series, shunt, factor * 72 * THERMAL)
    for photo, saturation, series, shunt, factor in product(
        (1.0, 8.0), (5e-10, 3e-8), (0.1, 1.0), (300.0, 3000.0), (1.01, 1.3)
    )
]
THIN = [
    (photo, saturation, series, shunt, factor * 140 * THERMAL)
    for photo, saturation, series, shunt, factor in product(
        (0.6, 1.8), (1e-9, 1e-7), (2.0, 12.0), (500.0, 3000.0), (1.2, 1.9)
    )
]


def exact_curve(
    parameters: tuple[float, ...], points: int = 100
) -> tuple[list[float], list[float]]:
    """Voltage and current from 0 V to open circuit, evenly in diode voltage."""
    with mpmath.workdps(30):
        photo, saturation, series, shunt, a = (mpmath.mpf(x) for x in parameters)

        def current(x: mpmath.mpf) -> mpmath.mpf:
            return photo - saturation * mpmath.expm1(x / a) - x / shunt

        start = mpmath.findroot(lambda x: x - series * current(x), photo * series)
        end = mpmath.findroot(current, a * mpmath.log(photo / saturation))
        places = [start + (end - start) * k / (points - 1) for k in range(points)]
        currents = [current(x) for x in places]
        voltages = [x - series * i for x, i in zip(places, currents, strict=True)]
        return [float(v) for v in voltages], [float(i) for i in currents]


@pytest.mark.parametrize("cases", [CASES, THIN], ids=["72 cells", "thin film of 140 cells"])
def test_every_parameter_of_every_curve_within_a_millionth(
    cases: list[tuple[float, ...]],
) -> None:
    found = fit_parameters_of_many([exact_curve(case) for case in cases])
    for fit, case in zip(found, cases, strict=True):
        p = fit.parameters
        values = [
            p.photocurrent,
            p.saturation_current,
            p.resistance_series,
            p.resistance_shunt,
            p.nNsVth,
        ]
        assert np.array(values) == pytest.approx(np.array(case), rel=1e-6)
