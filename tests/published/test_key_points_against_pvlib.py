"""Key points of noisy sweeps: bias and coverage against pvlib's exact curves, and pvlib's
`astm_e1036` (ASTM E1036-15) beside them.

tests/benchmarks/bench_key_points.py has the full table of 1,000 draws a line.
"""

import numpy as np
import pytest
from pvlib.ivtools.utils import astm_e1036

from tests.physics.swept_curves import CRYSTALLINE, STRING, THIN_FILM, Device, swept
from viewer.physics.measured_sweep.key_points import find_key_points, find_key_points_of_many

NAMES = ("i_sc", "v_oc", "i_mp", "v_mp", "p_mp", "fill_factor")
DRAWS = 1000


@pytest.mark.parametrize("device", [CRYSTALLINE, THIN_FILM, STRING])
@pytest.mark.parametrize(("points", "noise"), [(15, 1e-3), (41, 1e-3), (200, 5e-3)])
def test_bias_and_coverage_of_the_95_percent_interval(
    device: Device, points: int, noise: float
) -> None:
    sweeps = [swept(device, points, noise, seed=seed) for seed in range(DRAWS)]
    found = find_key_points_of_many(sweeps)
    for name, truth in device.key_points().items():
        value = np.array([getattr(one.values, name) for one in found])
        spread = np.array([getattr(one.standard_uncertainty, name) for one in found])
        assert abs(np.mean(value) / truth - 1.0) <= 5e-4, name
        covered = np.mean(np.abs(value - truth) <= 1.96 * spread)
        assert 0.90 <= covered <= 0.98, name


@pytest.mark.parametrize("device", [CRYSTALLINE, THIN_FILM, STRING])
def test_exact_curve_to_a_few_parts_in_a_million(device: Device) -> None:
    values = find_key_points(*swept(device, 200, noise=0.0)).values
    for name, truth in device.key_points().items():
        assert getattr(values, name) == pytest.approx(truth, rel=1e-5), name


def test_astm_e1036_agrees_within_its_own_bias() -> None:
    """On a clean dense sweep the standard's polynomials come within 0.2 % of ours."""
    voltage, current = swept(CRYSTALLINE, 400, noise=0.0)
    peer = astm_e1036(voltage, current)
    values = find_key_points(voltage, current).values
    for name, other in zip(NAMES, ("isc", "voc", "imp", "vmp", "pmp", "ff"), strict=True):
        assert getattr(values, name) == pytest.approx(peer[other], rel=2e-3), name
