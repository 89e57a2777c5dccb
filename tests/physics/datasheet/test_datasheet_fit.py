"""What the datasheet fit promises: exactness, one shape for one and many, sentences."""

import numpy as np
import pytest

from viewer.physics.datasheet.datasheet_fit import METHODS, fit_datasheets, fit_module
from viewer.physics.datasheet.technology import TECHNOLOGY_TABLE
from viewer.physics.single_diode import exact_key_points

GOOD = {
    "i_sc": 11.5,
    "v_oc": 49.5,
    "i_mp": 10.9,
    "v_mp": 41.3,
    "alpha_sc": 0.0055,
    "beta_voc": -0.134,
    "gamma_pmp": -0.0035,
    "cells_in_series": 72,
    "technology": "mono-Si",
}


def fit(**changes):
    return fit_module(**{**GOOD, **changes})


@pytest.mark.parametrize("method", METHODS)
def test_points_are_met_and_parameters_physical(method):
    found = fit_module(**GOOD, method=method)
    assert found.model is not None
    at_stc = exact_key_points(found.model.operating(1000.0, 25.0))
    for name in ("i_sc", "v_oc", "i_mp", "v_mp"):
        assert float(at_stc[name]) == pytest.approx(GOOD[name], rel=1e-9)
    assert all(float(value) > 0.0 for value in found.model.reference.as_tuple())


def test_coefficients_are_met():
    found = fit()
    cold, warm = (exact_key_points(found.model.operating(1000.0, t)) for t in (25.0, 55.0))
    assert (warm["v_oc"] - cold["v_oc"]) / 30.0 == pytest.approx(GOOD["beta_voc"], rel=1e-6)
    assert (warm["p_mp"] / cold["p_mp"] - 1) / 30 == pytest.approx(GOOD["gamma_pmp"], rel=1e-6)
    assert (warm["i_sc"] - cold["i_sc"]) / 30.0 == pytest.approx(GOOD["alpha_sc"], rel=0.01)


@pytest.mark.parametrize("technology", TECHNOLOGY_TABLE)
def test_diode_factor_is_that_of_the_technology_where_the_points_allow(technology):
    voltage = {"CdTe": 0.82, "thin-film": 0.86, "CIGS": 0.66}.get(technology, 0.67) * 72
    found = fit(
        technology=technology,
        v_oc=voltage,
        v_mp=0.76 * voltage,
        i_mp=10.3,
        beta_voc=-0.0027 * voltage,
    )
    assert found.model is not None
    expected = TECHNOLOGY_TABLE[technology].diode_factor
    assert float(found.model.diode_factor_ref) == pytest.approx(expected, rel=1e-6)
    assert float(found.model.saturation_exponent) == 0.0


def test_split_of_power_does_not_decide_the_low_irradiance():
    """Imp up and Vmp down by 1.5 % at the same Pmp: power at 400 W/m² moves below 0.5 %."""

    def relative_efficiency(share: float) -> float:
        found = fit(i_mp=GOOD["i_mp"] * share, v_mp=GOOD["v_mp"] / share)
        power = exact_key_points(found.model.operating([400.0, 1000.0], 25.0))["p_mp"]
        return float(power[0] / power[1] / 0.4)

    assert relative_efficiency(1.015) == pytest.approx(relative_efficiency(1.0), abs=0.005)


def test_power_rises_with_light_at_every_irradiance():
    for share in (1.0, 1.015, 1.03):
        model = fit(i_mp=GOOD["i_mp"] * share, v_mp=GOOD["v_mp"] / share).model
        power = exact_key_points(model.operating(np.geomspace(1.0, 1400.0, 200), 40.0))["p_mp"]
        assert np.all(np.diff(power) > 0.0)


def test_many_are_fitted_as_one_by_one():
    shares = np.array([0.98, 1.0, 1.01])
    many = fit_datasheets(**{**GOOD, "v_mp": GOOD["v_mp"] * shares})
    for row, share in enumerate(shares):
        one = fit(v_mp=GOOD["v_mp"] * share)
        for ours, theirs in zip(
            many.model[row].reference.as_tuple(), one.model.reference.as_tuple(), strict=True
        ):
            assert float(ours) == pytest.approx(float(theirs), rel=1e-8)


def test_a_contradictory_datasheet_spoils_no_other():
    found = fit_datasheets(**{**GOOD, "i_mp": [10.9, 12.0, 10.9]})
    assert found.fitted.tolist() == [True, False, True]
    assert np.isnan(found.model.photocurrent_ref[1])
    assert np.isnan(found.residuals["p_mp"][1])
    assert found.residuals["p_mp"][2] == pytest.approx(0.0, abs=1e-9)
    assert found.problems[0] == ()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"i_mp": 11.9}, "Imp 11.9 A is not below Isc 11.5 A"),
        ({"v_mp": 51.0}, "Vmp 51 V is not below Voc 49.5 V"),
        ({"i_mp": 41.3, "v_mp": 10.9}, "Imp and Vmp look swapped"),
        ({"alpha_sc": 0.05}, "%/K given as A/K"),
        ({"alpha_sc": float("nan")}, "alpha_sc is missing"),
        ({"beta_voc": -0.0027}, "beta_voc is -0.00545 %/K"),
        ({"beta_voc": -134.0}, "mV/K"),
        ({"beta_voc": 0.0}, "beta_voc is zero"),
        ({"gamma_pmp": -0.35}, "%/K given as 1/K"),
        ({"gamma_pmp": 0.0}, "gamma_pmp is zero"),
        ({"gamma_pmp": 0.0035}, "minus sign"),
        ({"cells_in_series": 1}, "1 cell in series for Voc 49.5 V is 49.5 V a cell"),
        ({"v_mp": 49.0}, "one of the four numbers is mistyped"),
        ({"i_mp": 5.0}, "half of Isc"),
        ({"v_mp": 20.0}, "half of Voc"),
        ({"i_sc": 0.0}, "Isc is 0"),
        ({"v_oc": float("nan")}, "Voc is nan"),
        ({"i_sc": 49.5, "v_oc": 11.5}, "Isc and Voc look swapped"),
    ],
)
def test_contradictions_name_the_likely_mistake(changes, words):
    found = fit(**changes)
    assert found.model is None
    assert any(words in sentence for sentence in found.problems), found.problems


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"cells_in_series": 144}, "72 cells in series were assumed"),
        ({"alpha_sc": 0.0}, "alpha_sc is zero"),
        ({"alpha_sc": -0.003}, "negative"),
        ({"beta_voc": -0.27}, "a value in %/K may have been given as V/K"),
        ({"gamma_pmp": -0.0019}, "weaker than beta_voc"),
        ({"i_mp": 11.4, "v_mp": 39.5}, "at the same power about 10.89 A and 41.35 V"),
        ({"technology": "CdTe"}, "only roughly"),
    ],
)
def test_doubts_are_said_beside_the_model(changes, words):
    found = fit(**changes)
    assert found.model is not None
    assert any(words in sentence for sentence in found.remarks), found.remarks


def test_a_sound_datasheet_needs_no_words():
    found = fit()
    assert found.problems == ()
    assert found.remarks == ()


def test_unknown_names_are_refused():
    with pytest.raises(ValueError, match=r"'perovskite' is not known; write one of mono-Si"):
        fit(technology="perovskite")
    with pytest.raises(ValueError, match=r"'best' is not known; write one of technology"):
        fit_module(**GOOD, method="best")
