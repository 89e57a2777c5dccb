"""A datasheet out of a module's own curves: against the model that made them."""

import numpy as np
import pytest

from tests.analysis.device.traced_module import (
    CONDITIONS,
    NO_MODELS,
    NOWHERE,
    true_points,
    usable,
)
from viewer.analysis.device.common_parameters import common_parameters
from viewer.analysis.device.own_datasheet import MakeUp, OwnDatasheet, own_datasheet
from viewer.physics.single_diode import exact_key_points
from viewer.physics.uncertainty.uncertainty import InputUncertainties

MODULE = MakeUp("own", "multi-Si", 60)


def made(traces, make_up: MakeUp = MODULE) -> OwnDatasheet:
    return own_datasheet(traces, NOWHERE, NO_MODELS, make_up, InputUncertainties())


def test_the_datasheet_is_that_of_the_module():
    sheet = made(usable()).datasheet
    true, warm = true_points(1000.0, 25.0), true_points(1000.0, 50.0)
    for name in ("i_sc", "v_oc", "i_mp", "v_mp"):
        assert getattr(sheet, name) == pytest.approx(true[name], rel=4e-3), name
    for name, point, within in (
        ("alpha_sc", "i_sc", 0.01),
        ("beta_voc", "v_oc", 0.02),
        ("gamma_pmp", "p_mp", 0.03),
    ):
        slope = 100.0 * (warm[point] / true[point] - 1.0) / 25.0
        assert getattr(sheet, name) == pytest.approx(slope, abs=within), name
    assert len(sheet.matrix) == len(CONDITIONS)


def test_one_set_of_parameters_meets_every_trace():
    found = made(usable())
    assert np.abs(found.missed).max() < 0.003
    poa, cell = 550.0, 60.0  # none of the traces
    power = float(exact_key_points(found.fit.model.operating(poa, cell))["p_mp"])
    assert power == pytest.approx(true_points(poa, cell)["p_mp"], rel=0.005)


def test_of_a_string_it_is_that_of_one_module_without_the_cable():
    alone = made(usable()).datasheet
    make_up = MakeUp("own", "multi-Si", 60, modules_in_series=20)
    string = made(usable(modules=20), make_up).datasheet
    assert string.v_oc == pytest.approx(alone.v_oc, rel=1e-3)
    cabled = made(usable(modules=20), MakeUp("own", "multi-Si", 60, 1, 3, 20, 1, 0.5)).datasheet
    assert cabled.v_mp - string.v_mp == pytest.approx(0.5 * string.i_mp / 20, rel=0.05)


def test_temperatures_that_go_with_the_light_do_not_tell_coefficients():
    together = usable(((500.0, 30.0), (700.0, 36.0), (900.0, 41.5), (1000.0, 43.0)))
    with pytest.raises(ValueError, match="do not tell the temperature coefficients"):
        made(together)
    given = {"alpha_sc": 0.05, "beta_voc": -0.33, "gamma_pmp": -0.42}
    sheet = made(together, MakeUp("own", "multi-Si", 60, given=given)).datasheet
    assert (sheet.alpha_sc, sheet.beta_voc, sheet.gamma_pmp) == tuple(given.values())


def test_too_few_traces_and_a_wrong_number_of_cells_are_said():
    with pytest.raises(ValueError, match="at least 3 usable traces"):
        made(usable(CONDITIONS[:2]))
    said = made(usable(), MakeUp("own", "multi-Si", 120)).remarks
    assert any(one.startswith("v_oc over cells_in_series is 0.33 V a cell") for one in said)


def test_repeated_sweeps_give_one_set_of_parameters_at_their_mean_conditions():
    repeats = usable(((900.0, 45.0), (904.0, 45.6), (897.0, 45.2)), noise=1e-4)
    found = common_parameters(repeats)
    assert (found.poa_global, found.temperature_cell) == pytest.approx((900.33, 45.27), abs=0.01)
    assert float(found.fit.parameters.resistance_series) == pytest.approx(0.3, abs=0.01)


@pytest.mark.parametrize(
    ("conditions", "said"),
    [
        (((900.0, 45.0),), "at least two"),
        (((900.0, 45.0), (950.0, 45.0)), r"900 to 950 W/m² and 45\.0 to 45\.0 °C"),
        (((900.0, 45.0), (900.0, 48.0)), r"45\.0 to 48\.0 °C: one set"),
    ],
)
def test_sweeps_that_are_no_repeats_are_refused(conditions, said):
    with pytest.raises(ValueError, match=said):
        common_parameters(usable(conditions))
