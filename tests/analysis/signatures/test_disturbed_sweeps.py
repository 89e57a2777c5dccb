"""Readings that a disturbed contact left are no fault of the string; pvlib makes the curves."""

import numpy as np
import pytest
from pvlib.pvsystem import i_from_v, singlediode

from viewer.analysis.signatures.curve_alone import read_without_prediction
from viewer.analysis.signatures.signatures import SweepToRead, read_signatures
from viewer.physics.measured_sweep.key_points import find_key_points
from viewer.physics.single_diode import DiodeParameters

FIVE = (8.0, 6e-9, 2.4, 4000.0, 25.0)
MODULES = 13


def disturbed(places: list[int], share: float, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """A sound string's sweep with 0.1 % noise, some readings lower by a share."""
    rng = np.random.default_rng(seed)
    voltage = np.linspace(0.0, float(singlediode(*FIVE)["v_oc"]), 256)
    current = i_from_v(voltage, *FIVE) + 0.008 * rng.standard_normal(voltage.size)
    current[places] *= 1.0 - share
    return voltage, current


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("places", "share"), [([212, 214], 0.35), ([140, 210], 0.4), ([205], 0.2)])
def test_a_sound_string_stays_sound(places: list[int], share: float, seed: int) -> None:
    voltage, current = disturbed(places, share, seed)
    points = find_key_points(voltage, current).values
    (reading,) = read_signatures(
        [SweepToRead(voltage, current, points, DiodeParameters.of(*FIVE), 3 * MODULES)]
    )
    assert reading.signatures == ()


@pytest.mark.parametrize("place", [100, 190])
def test_nor_has_it_stairs_by_its_shape_alone(place: int) -> None:
    voltage, current = disturbed([place], 0.5, 5)
    points = find_key_points(voltage, current).values
    assert read_without_prediction(voltage, current, points, 3 * MODULES).stairs == ()
