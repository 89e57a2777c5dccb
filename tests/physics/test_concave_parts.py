"""Dividing a curve where no single diode could have made it."""

from itertools import pairwise

import numpy as np
import pytest

from tests.physics.swept_curves import CRYSTALLINE, STRING, shaded, swept
from viewer.physics.concave_parts import concave_parts, deepest_sag


def in_own_units(voltage: np.ndarray, current: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return voltage / voltage.max(), current / current.max()


@pytest.mark.parametrize("points", [15, 60, 200, 4000])
def test_a_single_diode_is_one_part(points: int) -> None:
    curve = in_own_units(*swept(CRYSTALLINE, points, noise=2e-4))
    assert concave_parts(*curve) == [slice(0, points)]


def test_a_step_divides_where_its_lower_plateau_begins() -> None:
    voltage, current, fine, exact = shaded(STRING, 0.4, 0.6, 400)
    parts = concave_parts(*in_own_units(voltage, current))
    assert len(parts) == 2
    begins = fine[exact < 0.605 * STRING.photocurrent][0]
    assert voltage[parts[1].start] == pytest.approx(begins, rel=0.03)


def test_parts_follow_each_other_without_gaps() -> None:
    voltage, current, _, _ = shaded(STRING, 0.3, 0.5)
    parts = concave_parts(*in_own_units(voltage, current))
    assert parts[0].start == 0
    assert parts[-1].stop == voltage.size
    assert all(a.stop == b.start for a, b in pairwise(parts))


def test_sag_of_three_points_by_hand() -> None:
    """A point 0.5 below a bridge of slope -1 lies 0.5 / sqrt(2) from it."""
    sag, at = deepest_sag(np.array([0.0, 0.5, 1.0]), np.array([1.0, 0.0, 0.0]))
    assert at == 1
    assert sag == pytest.approx(0.5 / np.sqrt(2.0))
