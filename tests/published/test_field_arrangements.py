"""What stands in the field, against curves put together from pvlib's single cells and modules.

Truth: pvlib's De Soto parameters and Lambert W currents. Half-cut modules are two paths of
half cells side by side, harnesses are strings side by side, cables are volts taken off. Our
side sees only the whole as one device: datasheet at STC, counts and conditions.
"""

from dataclasses import replace

import numpy as np
import pvlib
import pytest

from tests.analysis.one_trace import resolve_conditions
from viewer.analysis.prediction.string_cable import string_cable_resistance
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.single_diode import DiodeParameters, exact_key_points
from viewer.physics.translation import translate
from viewer.physics.translation.factors_from_model import factors_from_model
from viewer.physics.translation.translated_key_points import translated_key_points
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout

POA, TEMPERATURE = 820.0, 52.0
HALF_CELL = {"alpha_sc": 0.0028, "a_ref": 0.0271, "I_L_ref": 5.6, "I_o_ref": 6e-11}
CELLS = 72
RESISTANCE_SHUNT, RESISTANCE_SERIES = 12.0, 0.0056


def half_path(poa: float, temperature: float) -> tuple:
    """One path of a half-cut module: 72 half cells in series."""
    il, io, rs, rsh, a = pvlib.pvsystem.calcparams_desoto(
        poa, temperature, **HALF_CELL, R_sh_ref=RESISTANCE_SHUNT, R_s=RESISTANCE_SERIES
    )
    return il, io, rs * CELLS, rsh * CELLS, a * CELLS


def module_voltage(current: np.ndarray, poa: float, temperature: float) -> np.ndarray:
    """Of a half-cut module: each of its two paths carries half of the current."""
    return pvlib.pvsystem.v_from_i(current / 2.0, *half_path(poa, temperature))


def string_curve(
    poa: float = POA,
    temperature: float = TEMPERATURE,
    modules: int = 26,
    strings: int = 1,
    cable: float = 0.0,
    points: int = 400,
) -> tuple[np.ndarray, np.ndarray]:
    short = 2.0 * float(pvlib.pvsystem.i_from_v(0.0, *half_path(poa, temperature)))
    of_one = short * np.sin(np.linspace(np.pi / 2, 0.0, points))
    v = modules * module_voltage(of_one, poa, temperature) - cable * of_one
    return v[v >= -1.0], strings * of_one[v >= -1.0]


def key_points(v: np.ndarray, i: np.ndarray) -> KeyPoints:
    top = int(np.argmax(v * i))
    a, b, c = np.polyfit(v[top - 2 : top + 3] - v[top], (v * i)[top - 2 : top + 3], 2)
    v_mp, p_mp = v[top] - b / (2 * a), c - b * b / (4 * a)
    i_sc, v_oc = float(np.interp(0.0, v, i)), float(v[-1])
    return KeyPoints(i_sc, v_oc, p_mp / v_mp, v_mp, p_mp, p_mp / (i_sc * v_oc))


class TrueModule:
    """The same module as our records see it: one device with 72 cells in series."""

    cells_in_series = np.asarray(CELLS)

    def operating(self, effective_irradiance: np.ndarray, temperature_cell: np.ndarray):
        poa, cell = np.asarray(effective_irradiance, float), np.asarray(temperature_cell, float)
        return DiodeParameters.of(*half_path(poa, cell)).in_parallel(2)


STC = key_points(*string_curve(1000.0, 25.0, modules=1))
WARM = key_points(*string_curve(1000.0, 35.0, modules=1))
SHEET = Datasheet(
    "M",
    "n-type-Si",
    STC.i_sc,
    STC.v_oc,
    STC.i_mp,
    STC.v_mp,
    10 * (WARM.i_sc / STC.i_sc - 1),
    10 * (WARM.v_oc / STC.v_oc - 1),
    10 * (WARM.p_mp / STC.p_mp - 1),
    CELLS,
    parallel_paths=2,
)
ARRANGEMENTS = pytest.mark.parametrize(
    "string",
    [
        StringLayout("single module", "M", 1),
        StringLayout("string", "M", 26),
        StringLayout("harness of three", "M", 26, 3),
        StringLayout("far string", "M", 26, 1, 180.0, 4.0),
        StringLayout("far harness, aluminium", "M", 26, 2, 300.0, 16.0, "aluminium"),
    ],
    ids=lambda one: one.name,
)


def measured(string: StringLayout, poa: float = POA, temperature: float = TEMPERATURE):
    return string_curve(
        poa,
        temperature,
        string.modules_in_series,
        string.strings_in_parallel,
        string_cable_resistance(string),
    )


@ARRANGEMENTS
def test_prediction_meets_the_arrangement(string: StringLayout) -> None:
    true = key_points(*measured(string))
    device = TrueModule().operating(POA, TEMPERATURE).in_series(string.modules_in_series)
    device = device.with_extra_series(string_cable_resistance(string))
    found = exact_key_points(device.in_parallel(string.strings_in_parallel))
    for name, value in true.as_dict().items():
        assert float(found[name]) == pytest.approx(value, rel=2e-4), name


@ARRANGEMENTS
@pytest.mark.parametrize("procedure", [1, 2, 4])
def test_translation_of_the_arrangement(string: StringLayout, procedure: int) -> None:
    corrections = factors_from_model(TrueModule()).in_series(string.modules_in_series)
    corrections = corrections.with_extra_series(string_cable_resistance(string))
    v, i = measured(string)
    moved = translate(
        v,
        i,
        poa_global=POA,
        temperature_cell=TEMPERATURE,
        corrections=corrections.in_parallel(string.strings_in_parallel),
        procedure=procedure,
    )
    found = translated_key_points(moved)
    true = key_points(*measured(string, 1000.0, 25.0))
    assert float(found["p_mp"]) == pytest.approx(true.p_mp, rel=4e-3)
    assert float(found["v_oc"]) == pytest.approx(true.v_oc, rel=3e-3)
    assert float(found["i_sc"]) == pytest.approx(true.i_sc, rel=3e-3)


@ARRANGEMENTS
def test_conditions_read_from_the_arrangement(string: StringLayout) -> None:
    """Isc and Voc of the whole give back the irradiance and temperature that went in."""
    v, i = measured(string)
    layout = SiteLayout("Site", {"M": SHEET}, (Combiner("C", (string,)),))
    read = MeasuredConditions(poa_global=POA, temperature_cell=TEMPERATURE)
    trace = Trace("t", v, i, "C", string.name, None, read)
    found = resolve_conditions(trace, layout, key_points(v, i), TrueModule())
    assert found.irradiance_from_isc == pytest.approx(POA, rel=2e-3)
    assert found.temperature_from_voc == pytest.approx(TEMPERATURE, abs=0.1)
    by_sheet = resolve_conditions(trace, layout, key_points(v, i))
    assert by_sheet.temperature_from_voc == pytest.approx(TEMPERATURE, abs=1.0)


def test_a_bifacial_module_answers_to_both_sides() -> None:
    """IEC TS 60904-1-2: front and bifaciality times rear act like one front irradiance."""
    front, rear, share = 760.0, 110.0, 0.8
    string = StringLayout("string", "M", 26)
    v, i = measured(string, front + share * rear)
    sheet = replace(SHEET, bifaciality=share)
    layout = SiteLayout("Site", {"M": sheet}, (Combiner("C", (string,)),))
    read = MeasuredConditions(poa_global=front, poa_rear=rear, temperature_cell=TEMPERATURE)
    trace = Trace("t", v, i, "C", "string", None, read)
    found = resolve_conditions(trace, layout, key_points(v, i), TrueModule())
    assert found.effective_irradiance == pytest.approx(848.0)
    assert all(one.passed for one in found.checks if "against" in one.check)
    front_only = replace(trace, conditions=replace(read, poa_rear=None))
    without = resolve_conditions(front_only, layout, key_points(v, i), TrueModule())
    failed = [one.check for one in without.checks if not one.passed]
    assert "irradiance against Isc" in failed
