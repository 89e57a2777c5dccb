"""Procedure 3: which curves it takes and what it refuses."""

import numpy as np
import pytest

from tests.physics.translation.desoto_curves import at, measured
from viewer.physics.translation.condition_curve import ConditionCurve
from viewer.physics.translation.interpolation import interpolate


def power(curve) -> float:
    return float(np.max(curve.voltage * curve.current))


def test_a_measured_condition_gives_the_measured_curve() -> None:
    found = interpolate([at(600.0, 25.0), at(1000.0, 25.0)], 600.0, 25.0)
    v, i = measured(600.0, 25.0, 400)
    assert found.v_oc == pytest.approx(v[-1], rel=1e-5)
    assert power(found) == pytest.approx(np.max(v * i), rel=3e-4)
    assert "procedure 3" in found.procedure


def test_two_curves_reach_only_their_line() -> None:
    with pytest.raises(ValueError, match="third curve"):
        interpolate([at(600.0, 25.0), at(1000.0, 25.0)], 800.0, 40.0)


def test_three_curves_reach_a_plane() -> None:
    corners = [at(600.0, 20.0), at(1000.0, 20.0), at(1000.0, 60.0)]
    found = interpolate(corners, 850.0, 35.0)
    v, i = measured(850.0, 35.0, 400)
    assert power(found) == pytest.approx(np.max(v * i), rel=4e-3)
    assert found.remarks == ()


def test_the_nearest_three_of_many_around_the_target_are_taken() -> None:
    corners = [at(g, t) for g in (500.0, 800.0, 1100.0) for t in (15.0, 40.0, 65.0)]
    found = interpolate(corners, 820.0, 38.0)
    assert "800 W/m² 40.0 °C" in found.procedure


def test_extrapolation_is_said() -> None:
    corners = [at(600.0, 20.0), at(900.0, 20.0), at(900.0, 60.0)]
    assert "extrapolation" in interpolate(corners, 1000.0, 25.0).remarks[0]


def test_far_outside_no_curve_is_given() -> None:
    """The power came out 6 % wrong at 450 W/m² and 80 °C, the current by a third at 100."""
    six = [(980, 28), (1010, 55), (760, 35), (640, 52), (880, 61), (450, 30)]
    curves = [at(float(poa), float(cell)) for poa, cell in six]
    for to, said in (((450.0, 80.0), "450 W/m² and 80.0 °C"), ((100.0, -40.0), "and −40.0 °C")):
        with pytest.raises(ValueError, match=f"{said} lie too far outside"):
            interpolate(curves, *to)
    v, i = measured(1000.0, 0.0, 400)
    assert power(interpolate(curves, 1000.0, 0.0)) == pytest.approx(np.max(v * i), rel=5e-3)


@pytest.mark.parametrize(
    ("corners", "said"),
    [
        ([at(600.0, 20.0)], "at least two"),
        ([at(600.0, 20.0), at(800.0, 20.0), at(1000.0, 20.0)], "one line"),
    ],
)
def test_too_little_is_refused_in_words(corners: list[ConditionCurve], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        interpolate(corners, 900.0, 40.0)
