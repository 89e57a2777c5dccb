"""Sweeps that were divided: what a part cannot tell is not told with an absurd uncertainty."""

import numpy as np

from tests.physics.swept_curves import Device, dense_near_voc
from viewer.physics.curve_fit.fitted_points import I_MP, P_MP, V_MP
from viewer.physics.measured_sweep.parted_sweeps import estimate_parted
from viewer.physics.sweep_cleaning import clean_sweep

LEAKY = Device(10.2, 2e-9, 6.0, 60.0, 36.0)


def test_a_maximum_that_a_part_leaves_open_is_that_of_its_best_point() -> None:
    """Cut anywhere, a leaky string's flat maximum is known to a tenth: it was told as
    310 V, more or less 43 million. Truth from pvlib."""
    truth = LEAKY.key_points()
    for seed in range(5):
        voltage, current, _ = clean_sweep(*dense_near_voc(LEAKY, 150, 0.003, seed))
        for cut in range(50, 130, 3):
            parts = [slice(0, cut), slice(cut, voltage.size)]
            (found,) = estimate_parted([(voltage, current)], [parts], np.array([[0.005, 3.0]]))
            for which, name in ((V_MP, "v_mp"), (I_MP, "i_mp"), (P_MP, "p_mp")):
                assert found.uncertainty[which] < 0.1 * truth[name], (seed, cut, name)
            assert abs(found.values[P_MP] - truth["p_mp"]) < 0.1 * truth["p_mp"], (seed, cut)
