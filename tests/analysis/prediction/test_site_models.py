"""Rows of an irradiance-temperature matrix refine the model of a datasheet.

Module mSi0166 of the NREL mPERT set (B. Marion and others, Data for Validating Models for PV
Module Performance, NREL 2014): Pmp in W at irradiance [W/m²] and cell temperature [°C]; STC
row, coefficients and 36 cells of multicrystalline silicon as stated there.
"""

from pathlib import Path

import pytest

from viewer.analysis.prediction.site_models import fit_datasheet, site_models
from viewer.physics.single_diode import exact_key_points
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.matrix_rows import MatrixRow
from viewer.site_data.site_file.connection import create_site_file, open_site_file
from viewer.site_data.site_file.layout_rows import merge_layout, read_layout
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout
from viewer.site_data.site_toml import parse_site_toml, site_toml_text

PLAIN = Datasheet("mSi0166", "multi-Si", 2.741, 22.07, 2.532, 18.26, 0.0503, -0.3308, -0.4105, 36)
LOW = MatrixRow(200.0, 25.0, p_mp=8.11, i_sc=0.547, v_oc=20.26)
"""Measured: mSi0166 at 200 W/m² and 25 °C."""


def _p_mp(sheet: Datasheet, poa: float, cell: float) -> float:
    model = fit_datasheet(sheet).model
    assert model is not None
    return float(exact_key_points(model.operating(poa, cell))["p_mp"])


def _with(*rows: MatrixRow) -> Datasheet:
    fields = {name: getattr(PLAIN, name) for name in PLAIN.__dataclass_fields__}
    return Datasheet(**{**fields, "matrix": rows})


def test_a_low_irradiance_row_is_met_better() -> None:
    plain, refined = _p_mp(PLAIN, 200, 25), _p_mp(_with(LOW), 200, 25)
    assert abs(refined / 8.11 - 1) < abs(plain / 8.11 - 1)
    assert abs(refined / 8.11 - 1) < 0.01


def test_the_remark_says_so() -> None:
    assert any("1 row beside STC" in one for one in fit_datasheet(_with(LOW)).remarks)


def test_rows_survive_toml_and_site_file(tmp_path: Path) -> None:
    layout = SiteLayout(
        "s", {"mSi0166": _with(LOW)}, (Combiner("C", (StringLayout("S", "mSi0166", 1),)),)
    )
    read = parse_site_toml(site_toml_text(layout), "site.toml", "s")
    assert read.problems == ()
    assert read.layout.modules["mSi0166"].matrix == (LOW,)
    path = tmp_path / "s.curvewright"
    with create_site_file(path) as site_file, site_file.writing() as connection:
        merge_layout(connection, layout)
    with open_site_file(path) as site_file:
        assert read_layout(site_file).modules["mSi0166"].matrix == (LOW,)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("{ temperature_cell = 25, p_mp = 8 }", "poa_global"),
        ("{ poa_global = 200, temperature_cell = 25 }", "gives no value"),
        ("{ poa_global = 5, temperature_cell = 25, p_mp = 8 }", "lies from 20"),
        ('{ poa_global = 200, temperature_cell = 25, p_mp = "8 W" }', "plain number"),
    ],
)
def test_a_wrong_row_is_one_sentence(row: str, said: str) -> None:
    text = site_toml_text(SiteLayout("s", {"mSi0166": PLAIN}, ()))
    text = text.replace("[module.mSi0166]\n", f"[module.mSi0166]\nmatrix = [{row}]\n")
    problems = parse_site_toml(text, "site.toml", "s").problems
    assert len(problems) >= 1
    assert said in problems[0]


def test_modules_fitted_together_are_those_fitted_alone() -> None:
    other = Datasheet("other", "mono-Si", 9.5, 45.5, 9.0, 37.5, 0.05, -0.29, -0.37, 72)
    wrong = Datasheet("wrong", "mono-Si", 9.5, 45.5, 9.9, 37.5, 0.05, -0.29, -0.37, 72)
    together = site_models({"a": _with(LOW), "b": other, "c": wrong, "d": PLAIN})
    assert set(together.models) == set(together.corrections) == {"a", "b", "d"}
    assert "is not below Isc" in together.problems["c"][0]
    for key, sheet in (("a", _with(LOW)), ("b", other), ("d", PLAIN)):
        alone = fit_datasheet(sheet).model
        assert alone is not None
        for poa, cell in ((1000.0, 25.0), (400.0, 60.0)):
            here = exact_key_points(together.models[key].operating(poa, cell))["p_mp"]
            there = exact_key_points(alone.operating(poa, cell))["p_mp"]
            assert float(here) == pytest.approx(float(there), rel=1e-7)
    assert site_models({}).models == {}
