"""Fits to rows at several conditions, on rows a known model produced."""

import numpy as np
import pytest

from viewer.physics.datasheet.datasheet_fit import fit_module
from viewer.physics.datasheet.matrix_fit import FREEDOMS, changed, fit_matrix
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.single_diode import exact_key_points

# the matrix of IEC 61853-1: rows of irradiance [W/m²] at 15, 25, 50 and 75 °C
MATRIX = np.array(
    [
        *((g, 15.0) for g in (100, 200, 400, 600, 800, 1000)),
        *((g, 25.0) for g in (100, 200, 400, 600, 800, 1000, 1100)),
        *((g, 50.0) for g in (400, 600, 800, 1000, 1100)),
        *((g, 75.0) for g in (600, 800, 1000, 1100)),
    ]
)
NAMES = ("i_sc", "v_oc", "i_mp", "v_mp", "p_mp")


@pytest.fixture(scope="module")
def start() -> ModuleModel:
    fit = fit_module(11.5, 49.5, 10.9, 41.3, 0.0055, -0.134, -0.0035, 72, "mono-Si")
    assert fit.model is not None
    return fit.model


def moved(start: ModuleModel, **changes: float) -> ModuleModel:
    names = [freedom.name for freedom in FREEDOMS]
    vector = np.zeros(len(names))
    for begin, value in changes.items():
        vector[next(k for k, n in enumerate(names) if n.startswith(begin.replace("_", " ")))] = (
            value
        )
    return changed(start, vector)


def rows_of(model: ModuleModel, conditions: np.ndarray) -> dict[str, np.ndarray]:
    key = exact_key_points(model.operating(*conditions.T))
    return {name: key[name] for name in NAMES}


def test_no_change_is_the_start(start):
    for ours, given in zip(
        moved(start).reference.as_tuple(), start.reference.as_tuple(), strict=True
    ):
        assert float(ours) == pytest.approx(float(given), rel=1e-9)


def test_rows_of_the_start_leave_it(start):
    fit = fit_matrix(start, *MATRIX.T, **rows_of(start, MATRIX))
    assert max(abs(change) for change in fit.changes.values()) < 1e-6
    assert fit.remarks == ()


def test_another_module_is_found(start):
    truth = moved(start, log_of_the_diode=0.12, log_of_the_series=0.3, dark_share=0.3)
    fit = fit_matrix(start, *MATRIX.T, **rows_of(truth, MATRIX))
    before = exact_key_points(start.operating(*MATRIX.T))["p_mp"]
    power = rows_of(truth, MATRIX)["p_mp"]
    assert np.max(np.abs(before / power - 1.0)) > 0.03
    assert np.max(np.abs(fit.residuals["p_mp"])) < 0.003


def test_two_rows_help_between_them(start):
    """Only Pmp at nominal operation and at 200 W/m²: nearer to the truth at 400 to 600 W/m²."""
    truth = moved(start, log_of_the_diode=0.1, dark_share=0.25)
    given = np.array([(800.0, 45.0), (200.0, 25.0)])
    fit = fit_matrix(start, *given.T, p_mp=rows_of(truth, given)["p_mp"])
    between = np.array([(400.0, 25.0), (500.0, 45.0), (600.0, 25.0)])
    power = rows_of(truth, between)["p_mp"]
    before = np.abs(rows_of(start, between)["p_mp"] / power - 1.0)
    after = np.abs(rows_of(fit.model, between)["p_mp"] / power - 1.0)
    assert np.all(after < 0.5 * before)
    at_stc = rows_of(fit.model, np.array([(1000.0, 25.0)]))["p_mp"]
    assert at_stc == pytest.approx(10.9 * 41.3, rel=0.003)


def test_a_mistyped_row_is_pointed_out_and_spoils_little(start):
    rows = rows_of(start, MATRIX)
    rows["p_mp"] = rows["p_mp"].copy()
    rows["p_mp"][8] *= 1.1
    fit = fit_matrix(start, *MATRIX.T, **rows)
    assert len(fit.remarks) == 1
    assert "400 W/m² and 25 °C" in fit.remarks[0]
    others = np.delete(fit.residuals["p_mp"], 8)
    assert np.max(np.abs(others)) < 0.005


def test_missing_values_are_left_out(start):
    rows = rows_of(start, MATRIX)
    rows["v_oc"] = np.where(np.arange(len(MATRIX)) % 2, rows["v_oc"], np.nan)
    fit = fit_matrix(start, *MATRIX.T, v_oc=rows["v_oc"], i_mp=rows["i_mp"], v_mp=rows["v_mp"])
    assert set(fit.residuals) == {"v_oc", "i_mp", "v_mp", "p_mp"}
    assert np.isnan(fit.residuals["v_oc"][0])
    assert max(abs(change) for change in fit.changes.values()) < 1e-5


def test_empty_and_uneven_matrices_are_refused(start):
    with pytest.raises(ValueError, match="no row with an irradiance"):
        fit_matrix(start, [0.0, np.nan], [25.0, 25.0], p_mp=[10.0, 20.0])
    with pytest.raises(ValueError, match="as many rows"):
        fit_matrix(start, [200.0, 400.0], [25.0, 25.0], p_mp=[10.0])
