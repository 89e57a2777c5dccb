"""Expected values at the string, and modules counted from a measured Voc."""

import numpy as np
import pvlib
import pytest

from viewer.analysis.before_visit.at_the_string import (
    Expectation,
    expect_string,
    expected_within,
    read_voltage_deficit,
)
from viewer.analysis.prediction.site_models import fit_datasheet
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import StringLayout

MODULE = Datasheet("M", "mono-Si", 10.0, 48.0, 9.5, 40.0, 0.05, -0.28, -0.36, 72)


def _model() -> ModuleModel:
    model = fit_datasheet(MODULE).model
    assert model is not None
    return model


def _expected(modules: int = 4) -> tuple[Expectation, StringLayout]:
    string = StringLayout("S", "M", modules)
    return expect_string(_model(), string, 1000.0, temperature_cell=25.0), string


def test_at_stc_the_string_is_its_datasheet() -> None:
    expectation, _ = _expected(modules=20)
    assert expectation.key_points.i_sc == pytest.approx(10.0, rel=1e-4)
    assert expectation.key_points.v_oc == pytest.approx(960.0, rel=1e-4)
    assert expectation.key_points.p_mp == pytest.approx(20 * 380.0, rel=1e-4)


def test_key_points_agree_with_pvlib() -> None:
    """pvlib's Lambert-W single-diode solver on the same parameters is the reference."""
    expectation, _ = _expected()
    p = expectation.parameters
    reference = pvlib.pvsystem.singlediode(
        float(p.photocurrent),
        float(p.saturation_current),
        float(p.resistance_series),
        float(p.resistance_shunt),
        float(p.nNsVth),
    )
    assert expectation.key_points.v_oc == pytest.approx(reference["v_oc"], rel=1e-9)
    assert expectation.key_points.p_mp == pytest.approx(reference["p_mp"], rel=1e-9)


def test_back_reading_is_taken_as_three_kelvin_below_the_cells() -> None:
    string = StringLayout("S", "M", 20)
    expectation = expect_string(_model(), string, 1000.0, temperature_module=40.0)
    assert expectation.temperature_cell == pytest.approx(43.0)


@pytest.mark.parametrize("groups", [1, 2, 3, 4])
def test_missing_groups_are_counted_on_a_short_string(groups: int) -> None:
    expectation, string = _expected(modules=4)
    measured = expectation.key_points.v_oc * (1 - groups / 12)
    deficit = read_voltage_deficit(measured, expectation, MODULE, string)
    assert deficit.whole_groups == groups
    assert "missing, shorted or bypassed" in deficit.text
    assert deficit.modules == pytest.approx(groups / 3)


def test_long_string_says_that_one_reading_cannot_count() -> None:
    expectation, string = _expected(modules=28)
    measured = expectation.key_points.v_oc * (1 - 3 / 84)
    deficit = read_voltage_deficit(measured, expectation, MODULE, string)
    assert deficit.whole_groups is None
    assert "between" in deficit.text


def test_within_the_uncertainty_is_as_expected() -> None:
    expectation, string = _expected(modules=20)
    deficit = read_voltage_deficit(expectation.key_points.v_oc * 0.995, expectation, MODULE, string)
    assert "as expected" in deficit.text


def test_higher_than_expected_is_said() -> None:
    expectation, string = _expected(modules=4)
    deficit = read_voltage_deficit(expectation.key_points.v_oc * 1.1, expectation, MODULE, string)
    assert "more modules than listed" in deficit.text
    assert np.sign(deficit.volts) == -1


def test_impossible_input() -> None:
    string = StringLayout("S", "M", 4)
    with pytest.raises(ValueError, match="above 0 W/m²"):
        expect_string(_model(), string, 0.0, temperature_cell=25.0)
    with pytest.raises(ValueError, match="temperature at the module's back"):
        expect_string(_model(), string, 800.0)
    expectation, string = _expected()
    with pytest.raises(ValueError, match="above 0 V"):
        read_voltage_deficit(0.0, expectation, MODULE, string)


def test_what_is_expected_is_known_within_its_inputs() -> None:
    expectation, string = _expected()
    within = expected_within(expectation, _model(), string)
    v_oc = expectation.key_points.v_oc
    by_temperature, sheet, spread = 0.0028 * 2.0, 0.005, 0.003 / 2  # 4 modules share the spread
    expected = 2 * v_oc * np.sqrt(by_temperature**2 + sheet**2 + spread**2)
    assert within.v_oc == pytest.approx(expected, rel=0.03)
    assert 0.02 < within.i_sc / expectation.key_points.i_sc < 0.05
    thin_film = expected_within(expectation, _model(), string, crystalline=False)
    assert thin_film.p_mp > 1.5 * within.p_mp
