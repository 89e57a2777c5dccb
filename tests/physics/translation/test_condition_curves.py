"""The curves of many devices taken together are those taken one by one."""

import numpy as np
import pytest

from tests.physics.translation.desoto_curves import at, measured
from viewer.physics.translation.condition_curve import ConditionCurve
from viewer.physics.translation.condition_curves import ConditionCurves
from viewer.physics.translation.factors_from_curves import KnownAtReference, factors_from_curves

CURVES = [
    ConditionCurve(*measured(g, t, points), g, t)
    for g, t, points in ((500.0, 15.0, 90), (1000.0, 30.0, 200), (800.0, 60.0, 40))
]


def test_every_curve_keeps_its_own_ends_and_voltages() -> None:
    together = ConditionCurves.of(CURVES)
    asked = np.linspace(-0.5, 10.0, 60)  # beyond both ends of each
    found = together.voltage_at(np.tile(asked, (1, 3, 1)))
    for k, one in enumerate(CURVES):
        assert together.i_sc[0, k] == pytest.approx(one.i_sc, rel=1e-12)
        assert together.v_oc[0, k] == pytest.approx(one.v_oc, rel=1e-12)
        top = np.argmax(one.voltage * one.current)
        assert together.i_mp[0, k] == one.current[top]
        assert found[0, k] == pytest.approx(one.voltage_at(asked), rel=1e-10, abs=1e-10)


def test_two_devices_do_not_mix() -> None:
    first = ConditionCurves.of(CURVES)
    both = ConditionCurves(
        np.concatenate([first.voltage, 2.0 * first.voltage]),
        np.concatenate([first.current, 3.0 * first.current]),
        first.poa_global,
        first.temperature_cell,
    )
    asked = np.tile(np.linspace(0.1, 4.0, 9), (1, 3, 1))
    found = both.voltage_at(np.concatenate([asked, 3.0 * asked]))
    assert found[1] == pytest.approx(2.0 * found[0], rel=1e-10)


def test_a_noisy_curve_is_read_as_one_that_falls() -> None:
    v, i = measured(900.0, 30.0, 100)
    i = i + 0.02 * np.random.default_rng(1).normal(size=100)
    one = ConditionCurve(v, i, 900.0, 30.0)
    asked = np.linspace(0.0, 9.0, 40)
    found = ConditionCurves.of([one, CURVES[0]]).voltage_at(np.tile(asked, (1, 2, 1)))
    assert found[0, 0] == pytest.approx(one.voltage_at(asked), rel=1e-10)


def test_the_number_of_points_changes_little() -> None:
    """Curves of different lengths are filled up, and the filling counts for nothing."""
    conditions = [(500.0, 25.0), (1000.0, 25.0), (800.0, 60.0)]
    known = KnownAtReference(60, alpha_sc=0.0005, beta_voc=-0.003, b_1=0.04, b_2=0.0)
    even = factors_from_curves([at(*c) for c in conditions], known)
    points = (260, 200, 230)
    uneven = factors_from_curves(
        [ConditionCurve(*measured(*c, n), *c) for c, n in zip(conditions, points, strict=True)],
        known,
    )
    assert uneven.v_oc == pytest.approx(even.v_oc, rel=1e-9)
    assert uneven.second.resistance_series == pytest.approx(even.second.resistance_series, rel=0.01)
