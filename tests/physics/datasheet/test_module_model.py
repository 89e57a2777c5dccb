"""How a module model moves with irradiance and temperature."""

import numpy as np
import pytest

from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.single_diode import DiodeParameters, exact_key_points


def model(**changes) -> ModuleModel:
    reference = DiodeParameters.of(9.1, 3e-10, 0.25, 420.0, 1.62)
    return ModuleModel.of(
        reference, **{"cells_in_series": 60, "alpha_sc": 0.0045, "band_gap": 1.121, **changes}
    )


def test_at_reference_the_parameters_are_the_reference():
    for ours, given in zip(
        model(
            saturation_exponent=-0.2, series_exponent=0.5, dark_shunt_share=0.4
        ).reference.as_tuple(),
        (9.1, 3e-10, 0.25, 420.0, 1.62),
        strict=True,
    ):
        assert float(ours) == pytest.approx(given, rel=1e-12)


def test_shapes_broadcast():
    many = model(alpha_sc=np.array([0.004, 0.005]))
    assert many.shape == (2,)
    assert many.operating(800.0, 50.0).shape == (2,)
    assert many[..., None].operating([400.0, 800.0, 1000.0], 50.0).shape == (2, 3)
    assert many[1].shape == ()


def test_no_light_gives_no_current_and_no_warning():
    key = exact_key_points(model(saturation_exponent=-0.3).operating([0.0, -5.0], 25.0))
    assert key["i_sc"].tolist() == [0.0, 0.0]
    assert key["p_mp"].tolist() == [0.0, 0.0]
    assert np.all(np.isnan(key["fill_factor"]))


def test_drift_of_the_diode_factor_leaves_the_voltage():
    plain, drifting = (
        exact_key_points(model(diode_factor_slope=slope).operating(1000.0, 60.0))
        for slope in (0.0, 0.002)
    )
    assert drifting["v_oc"] == pytest.approx(float(plain["v_oc"]), rel=2e-3)
    assert drifting["fill_factor"] < plain["fill_factor"] - 0.005


def test_dark_share_keeps_shunt_conductance_without_light():
    dim = model(dark_shunt_share=0.4).operating(1.0, 25.0)
    assert float(dim.resistance_shunt) == pytest.approx(420.0 / 0.4, rel=2e-3)


def test_exponents_scale_with_irradiance():
    half = model(photocurrent_exponent=1.02, saturation_exponent=-0.3, series_exponent=0.5)
    d = half.operating(500.0, 25.0)
    assert float(d.photocurrent) == pytest.approx(9.1 * 0.5**1.02)
    assert float(d.saturation_current) == pytest.approx(3e-10 * 0.5**-0.3)
    assert float(d.resistance_series) == pytest.approx(0.25 * 0.5**0.5)


def test_missing_values_stay_missing():
    key = exact_key_points(model().operating([np.nan, 800.0], [25.0, np.nan]))
    assert np.all(np.isnan(key["p_mp"]))


def test_models_of_many_devices_stand_at_their_places() -> None:
    """Two kinds of model, one activated by its diode factor: each keeps its own law."""
    one = model(diode_factor_slope=0.001)
    other = model(activation_by_diode_factor=False, series_exponent=0.3)
    many = ModuleModel.of_each([other, one, one])
    poa, cell = np.array([300.0, 500.0, 900.0]), np.array([60.0, 15.0, 40.0])
    found = many.operating(poa, cell)
    for k, kind in enumerate((other, one, one)):
        alone = kind.operating(poa[k], cell[k])
        for ours, theirs in zip(found.as_tuple(), alone.as_tuple(), strict=True):
            assert ours[k] == pytest.approx(float(theirs), rel=1e-14)
    assert ModuleModel.of_each([one, one]) is one
