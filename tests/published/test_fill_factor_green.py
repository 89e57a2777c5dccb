"""Fill factors against Green's empirical expressions.

M. A. Green, Accuracy of analytical expressions for solar cell fill factors, Solar Cells 7
(1982) 337-340: without resistances FF0 = (v - ln(v + 0.72)) / (v + 1), to about one digit in
the fourth place for v > 10; with a series resistance FF0 (1 - 1.1 r) + r² / 5.4, of which real
modules have r below 0.1; tolerances of the second by judgement.
v is v_oc over a = nNsVth, r the series resistance over v_oc / i_sc.
"""

import numpy as np
import pytest

from viewer.physics.datasheet.datasheet_checks import highest_fill_factor
from viewer.physics.single_diode import DiodeParameters, exact_key_points


def device(normalised_voltage: float, r: float = 0.0) -> DiodeParameters:
    a, light = 1.5, 9.0
    dark = light / np.expm1(normalised_voltage)
    return DiodeParameters.of(light, dark, r * normalised_voltage * a / light, np.inf, a)


def green(v: float, r: float = 0.0) -> float:
    ideal = (v - np.log(v + 0.72)) / (v + 1.0)
    return ideal * (1.0 - 1.1 * r) + r**2 / 5.4 if r else ideal


@pytest.mark.parametrize("v", [12.0, 16.0, 20.0, 25.0, 30.0])
def test_ideal_fill_factor(v):
    assert float(exact_key_points(device(v))["fill_factor"]) == pytest.approx(green(v), abs=1.5e-4)


@pytest.mark.parametrize("v", [16.0, 22.0, 28.0])
@pytest.mark.parametrize("r", [0.02, 0.05, 0.1])
def test_fill_factor_with_series_resistance(v, r):
    ours = float(exact_key_points(device(v, r))["fill_factor"])
    assert ours == pytest.approx(green(v, r), abs=2e-3)


def test_highest_fill_factor_is_that_of_the_sharpest_diode():
    # 0.72 V a cell and a diode factor of 2/3; k T / q = 25.693 mV at 25 °C (CODATA 2018)
    sharpest = exact_key_points(device(0.72 / (2.0 / 3.0 * 0.025693)))
    assert highest_fill_factor(0.72) == pytest.approx(float(sharpest["fill_factor"]), abs=2e-4)
