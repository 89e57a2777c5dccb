"""Voc by a line through the last points, against pvlib's curve."""

import numpy as np
import pytest

from tests.physics.swept_curves import STRING
from viewer.physics.curve_fit.fitted_points import V_OC
from viewer.physics.measured_sweep.v_oc_by_line import with_v_oc_by_line

V_OC_TRUE = STRING.key_points()["v_oc"]


def found(ends_at: float, uncertain_by: float, points: int = 200) -> tuple[float, float]:
    """Voc and its uncertainty for a sweep up to a share of Voc, first left open by so much."""
    voltage = np.linspace(0.0, ends_at * V_OC_TRUE, points)
    sweep = voltage, STRING.current(voltage)
    values, uncertainty = np.ones(8), np.full(8, 0.01)
    values[V_OC], uncertainty[V_OC] = 1.3 * V_OC_TRUE, uncertain_by * V_OC_TRUE
    values, uncertainty = with_v_oc_by_line(sweep, values, uncertainty)
    return float(values[V_OC] / V_OC_TRUE), float(uncertainty[V_OC] / V_OC_TRUE)


@pytest.mark.parametrize("ends_at", [1.0, 1.04, 1.15])
@pytest.mark.parametrize("points", [60, 200])
def test_also_of_a_sweep_that_goes_far_beyond(ends_at: float, points: int) -> None:
    """There the current is negative, and a line through all of that would miss Voc."""
    share, spread = found(ends_at, 0.3, points)
    assert spread < 0.005
    assert abs(share - 1.0) < max(3.0 * spread, 1e-3)


def test_what_is_known_better_or_not_reached_stays_as_it_is() -> None:
    assert found(1.0, 0.002)[0] == pytest.approx(1.3)
    assert found(0.9, 0.3)[0] == pytest.approx(1.3)


def test_a_dark_sweep_has_none() -> None:
    values, uncertainty = np.ones(8), np.full(8, 1.0)
    sweep = np.linspace(0.0, 600.0, 50), np.full(50, -0.001)
    assert with_v_oc_by_line(sweep, values, uncertainty)[0] is values
