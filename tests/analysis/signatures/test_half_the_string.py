"""Half a string of weaker modules, traced until short of open circuit; pvlib makes the curves."""

import numpy as np
import pytest
from pvlib.pvsystem import v_from_i

from viewer.analysis.signatures.signatures import SweepToRead, read_signatures
from viewer.physics.measured_sweep.key_points import find_key_points
from viewer.physics.single_diode import DiodeParameters

PHOTOCURRENT, SATURATION, SERIES, SHUNT, THERMAL = STRING = (7.35, 1.2e-10, 1.43, 30000.0, 10.05)
"""Of the whole string: A, A, ohm, ohm, V."""
GROUPS, WEAK, LEVEL = 18, 9, 0.877
NOISE_OF_CURRENT, NOISE_OF_VOLTAGE = 0.0016, 0.00027


def sweep(share_of_v_oc: float, seed: int) -> tuple[np.ndarray, np.ndarray]:
    current = np.linspace(-1.0, PHOTOCURRENT, 6001)
    voltage = np.zeros_like(current)
    for level, groups in ((1.0, GROUPS - WEAK), (LEVEL, WEAK)):
        one = SATURATION, SERIES / GROUPS, SHUNT / GROUPS, THERMAL / GROUPS
        own = np.nan_to_num(v_from_i(current, PHOTOCURRENT * level, *one), nan=-0.5)
        voltage += groups * np.maximum(own, -0.5)
    v_oc = float(np.interp(0.0, current, voltage))
    rng = np.random.default_rng(seed)
    v = np.linspace(0.0, share_of_v_oc * v_oc, 256)
    i = np.interp(v, voltage[::-1], current[::-1])
    i += NOISE_OF_CURRENT * PHOTOCURRENT * rng.standard_normal(v.size)
    v += NOISE_OF_VOLTAGE * v_oc * rng.standard_normal(v.size)
    order = np.argsort(v)
    return v[order], i[order]


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("share_of_v_oc", [0.965, 1.0])
def test_the_stair_is_told_where_the_sweep_ends_early_too(share_of_v_oc: float, seed: int) -> None:
    voltage, current = sweep(share_of_v_oc, seed)
    points = find_key_points(voltage, current).values
    given = SweepToRead(voltage, current, points, DiodeParameters.of(*STRING), GROUPS, 3, 2)
    (reading,) = read_signatures([given])
    assert [one.kind for one in reading.signatures] == ["step"]
    assert reading.signatures[0].details["bypass_groups"] == WEAK
    assert reading.signatures[0].size == pytest.approx(LEVEL, abs=0.02)
