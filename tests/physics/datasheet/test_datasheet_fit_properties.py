"""Any datasheet a real module could have is met exactly, with physical parameters."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from viewer.physics.datasheet.datasheet_fit import fit_module
from viewer.physics.datasheet.module_model import BOLTZMANN, T_REF
from viewer.physics.single_diode import DiodeParameters, exact_key_points


@st.composite
def datasheets(draw) -> dict[str, object]:
    """Key points of a random module, its Imp off by up to 2 % at the same power."""
    cells = draw(st.sampled_from([36, 48, 54, 60, 66, 72, 96]))
    light = draw(st.floats(1.0, 19.0))
    v_oc = cells * draw(st.floats(0.58, 0.74))
    a = draw(st.floats(0.85, 1.5)) * cells * BOLTZMANN * T_REF
    dark = light / np.expm1(v_oc / a)
    series = draw(st.floats(0.01, 0.12)) * v_oc / light
    shunt = v_oc / (light * draw(st.floats(0.002, 0.08)))
    key = exact_key_points(DiodeParameters.of(light, dark, series, shunt, a))
    split = draw(st.floats(0.98, 1.02))
    return {
        "i_sc": float(key["i_sc"]),
        "v_oc": float(key["v_oc"]),
        "i_mp": min(float(key["i_mp"]) * split, 0.993 * float(key["i_sc"])),
        "v_mp": float(key["v_mp"]) / split,
        "alpha_sc": light * draw(st.floats(0.0002, 0.0008)),
        "beta_voc": float(key["v_oc"]) * draw(st.floats(-0.0037, -0.0024)),
        "gamma_pmp": draw(st.floats(-0.005, -0.0028)),
        "cells_in_series": cells,
        "technology": draw(st.sampled_from(["mono-Si", "multi-Si"])),
    }


@settings(max_examples=80, deadline=None, derandomize=True)
@given(datasheets())
def test_points_met_and_parameters_physical(datasheet):
    fit = fit_module(**datasheet)
    assert fit.problems == ()
    assert fit.model is not None
    key = exact_key_points(fit.model.operating(1000.0, 25.0))
    for name in ("i_sc", "v_oc", "i_mp", "v_mp"):
        assert abs(float(key[name]) / datasheet[name] - 1.0) < 1e-8, name
    assert all(0.0 < float(value) < np.inf for value in fit.model.reference.as_tuple())


@settings(max_examples=40, deadline=None, derandomize=True)
@given(datasheets())
def test_prediction_is_smooth_and_sensible_everywhere(datasheet):
    model = fit_module(**datasheet).model
    irradiance = np.linspace(50.0, 1300.0, 26)[:, None]
    key = exact_key_points(model.operating(irradiance, np.linspace(-20.0, 85.0, 8)))
    assert np.all(np.isfinite(key["p_mp"]))
    assert np.all(np.diff(key["p_mp"], axis=0) > 0.0)
    assert np.all(np.diff(key["v_oc"], axis=1) < 0.0)
    assert np.all((key["fill_factor"] > 0.25) & (key["fill_factor"] < 0.9))
