"""Voc's factors come back out of voltages computed with them."""

import numpy as np
import pytest

from viewer.physics.translation.condition_curves import ConditionCurves
from viewer.physics.translation.voltage_by_irradiance import voltage_by_irradiance

POA = np.array([200.0, 400.0, 600.0, 800.0, 1000.0, 1150.0])
CELL = np.array([15.0, 60.0, 30.0, 50.0, 25.0, 70.0])
TRUTH = np.array([[45.0, -0.0029, 0.05, 0.004], [900.0, -0.0024, 0.035, -0.002]])


def straight_lines(poa: np.ndarray, cell: np.ndarray, b_2: np.ndarray) -> ConditionCurves:
    """Two devices of which only Voc matters."""
    v_oc, beta, b_1, _ = TRUTH.T[..., None]
    logarithm = np.log(1000.0 / poa)
    f = b_2[:, None] * logarithm**2 + b_1 * logarithm + 1.0
    ends = v_oc * (1.0 / f + beta * f * (cell - 25.0))
    share = np.array([0.0, 0.5, 1.0])
    current = np.broadcast_to(10.0 * (1.0 - share), (*ends.shape, 3))
    return ConditionCurves(ends[..., None] * share, current, poa, cell)


@pytest.mark.parametrize("known", [(), (0, 1), (1,), (2, 3), (0, 1, 2, 3)])
def test_what_is_not_known_is_found(known: tuple[int, ...]) -> None:
    given = [TRUTH[:, k] if k in known else None for k in range(4)]
    found = voltage_by_irradiance(straight_lines(POA, CELL, TRUTH[:, 3]), *given)
    assert np.stack(found, axis=-1) == pytest.approx(TRUTH, rel=1e-8)


def test_two_irradiances_leave_the_square_at_zero() -> None:
    poa = np.array([500.0, 500.0, 1000.0, 1000.0])
    curves = straight_lines(poa, np.array([20.0, 50.0, 20.0, 50.0]), np.zeros(2))
    v_oc, beta, b_1, b_2 = voltage_by_irradiance(curves)
    assert not b_2.any()
    assert np.stack([v_oc, beta, b_1], axis=-1) == pytest.approx(TRUTH[:, :3], rel=1e-8)
