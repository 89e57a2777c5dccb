"""Correction factors from curves: found where there is enough to find, refused in words."""

import numpy as np
import pytest

from tests.physics.translation.desoto_curves import RESISTANCE_SERIES, at
from viewer.physics.translation import translate
from viewer.physics.translation.condition_curve import ConditionCurve
from viewer.physics.translation.factors_from_curves import KnownAtReference, factors_from_curves

CELLS = KnownAtReference(cells_in_series=60)


def test_physical_resistance_is_that_of_the_model() -> None:
    """Curves of one temperature move along their series resistance; the shunt's change with
    irradiance, which the procedure does not know, adds a few percent."""
    curves = [at(g, 25.0) for g in (500.0, 700.0, 1000.0)]
    known = KnownAtReference(60, alpha_sc=0.0005, beta_voc=-0.003)
    found = factors_from_curves(curves, known)
    assert found.resistance_series == pytest.approx(RESISTANCE_SERIES, rel=0.04)
    assert found.first.kappa == 0.0
    assert "kappa 0" in found.source


def test_factors_make_the_curves_agree() -> None:
    curves = [at(g, t) for g in (500.0, 800.0, 1100.0) for t in (15.0, 40.0, 65.0)]
    found = factors_from_curves(curves, CELLS)
    truth = at(1000.0, 25.0)
    power = np.max(truth.voltage * truth.current)
    for one in curves:
        for procedure, most in ((1, 0.006), (2, 0.01), (4, 0.006)):
            moved = translate(
                one.voltage,
                one.current,
                poa_global=one.poa_global,
                temperature_cell=one.temperature_cell,
                corrections=found,
                procedure=procedure,
            )
            assert np.max(moved.voltage * moved.current) == pytest.approx(power, rel=most)


def test_factors_of_a_string_are_those_of_its_modules() -> None:
    curves = [at(g, t) for g in (500.0, 1000.0) for t in (25.0, 60.0)]
    string = [
        ConditionCurve(20 * c.voltage, c.current, c.poa_global, c.temperature_cell) for c in curves
    ]
    module = factors_from_curves(curves, CELLS)
    found = factors_from_curves(string, KnownAtReference(cells_in_series=1200))
    assert found.second.resistance_series == pytest.approx(20 * module.second.resistance_series)
    assert found.band_gap_voltage == pytest.approx(module.band_gap_voltage)


@pytest.mark.parametrize(
    ("curves", "said"),
    [
        ([at(1000.0, 25.0)], "two irradiances"),
        ([at(1000.0, 25.0), at(1050.0, 60.0)], "two irradiances"),
        ([at(600.0, 25.0), at(1000.0, 27.0)], "8 K apart"),
    ],
)
def test_curves_too_much_alike_are_refused(curves: list[ConditionCurve], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        factors_from_curves(curves, CELLS)
