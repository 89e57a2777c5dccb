"""The test-bed's curves against ngspice and pvlib, and a folder of it opened and analysed."""

from dataclasses import replace

import numpy as np
import pvlib
import pytest

from tests.benchmarks.bench_uneven_strings import judge
from tests.benchmarks.findings_of_folder import analyse
from tests.spice import string_deck
from tests.uneven_strings.cells import BOLTZMANN_OVER_CHARGE, Breakdown, Cell, cell_voltage
from tests.uneven_strings.circumstances import Circumstances
from tests.uneven_strings.faults import FAULTS
from tests.uneven_strings.generate import generate
from tests.uneven_strings.module_types import Kind, choose_types
from tests.uneven_strings.string_of_cells import BypassDiode, group_curve, series_curve
from tests.uneven_strings.uneven_string import UnevenString

CELL = Cell(
    photocurrent=4.6,
    saturation_current=3e-10,
    resistance_series=0.008,
    resistance_shunt=14.0,
    n_vth=0.0285,
    breakdown=Breakdown(voltage=17.0, factor=0.01, exponent=3.4),
)
BYPASS = BypassDiode(emission=1.1, saturation_current=2e-6, resistance=0.0045)
WARM = 45.0
MOST = 2 * CELL.photocurrent
CELLS = 20
CABLE = 0.05
KNEE_ERROR = 0.0012
"""Where the diode begins to conduct the rows of a cell's table lie wide apart, so that the curve
runs up to 0.11 % of Isc below."""


def path(rng: np.random.Generator, **fault: float) -> list[Cell]:
    """Cells that differ as a module's do; the first has the fault's values."""
    light = CELL.photocurrent * (1 + 0.004 * rng.standard_normal(CELLS))
    saturation = CELL.saturation_current * np.exp(0.08 * rng.standard_normal(CELLS))
    cells = [
        replace(CELL, photocurrent=float(one), saturation_current=float(other))
        for one, other in zip(light, saturation, strict=True)
    ]
    cells[0] = replace(cells[0], **fault)
    return cells


def as_circuit(cell: Cell) -> string_deck.Cells:
    return string_deck.Cells(
        count=1,
        photocurrent=cell.photocurrent,
        saturation_current=cell.saturation_current,
        resistance_series=cell.resistance_series,
        resistance_shunt=cell.resistance_shunt,
        n_vth=cell.n_vth,
        breakdown_factor=cell.breakdown.factor,
        breakdown_voltage=-cell.breakdown.voltage,
        breakdown_exp=cell.breakdown.exponent,
    )


@pytest.mark.skipif(string_deck.ngspice_path() is None, reason="ngspice is not installed")
def test_a_string_of_uneven_groups_is_within_a_thousandth_of_isc_of_ngspice():
    rng = np.random.default_rng(5)
    groups = [
        [path(rng), path(rng)],
        [path(rng, photocurrent=1.4), path(rng)],
        [path(rng, photocurrent=2.9, resistance_shunt=4.0), path(rng, photocurrent=2.9)],
    ]
    curves = [group_curve(paths, BYPASS, WARM, MOST) for paths in groups]
    ours = series_curve(curves, CABLE, MOST)
    n_vth = BYPASS.emission * BOLTZMANN_OVER_CHARGE * (WARM + 273.15)
    circuit = [
        string_deck.Group(
            paths=tuple(tuple(as_circuit(cell) for cell in cells) for cells in paths),
            bypass_saturation_current=BYPASS.saturation_current,
            bypass_n_vth=n_vth,
            bypass_resistance=BYPASS.resistance,
        )
        for paths in groups
    ]
    v_oc = float(np.interp(0.0, ours.current, ours.voltage))
    voltage, current = string_deck.sweep(circuit, v_oc, points=150, resistance=CABLE)
    found = np.interp(voltage, ours.voltage[::-1], ours.current[::-1])
    assert np.abs(found - current).max() < 0.001 * ours.i_sc


@pytest.mark.parametrize("paths", [1, 2])
def test_a_group_without_mismatch_is_pvlibs_single_diode(paths):
    alike = [replace(CELL, breakdown=Breakdown(17.0, 0.0, 3.4))] * CELLS
    curve = group_curve([alike] * paths, BYPASS, WARM, paths * CELL.photocurrent)
    whole = {
        "photocurrent": paths * CELL.photocurrent,
        "saturation_current": paths * CELL.saturation_current,
        "resistance_series": CELL.resistance_series * CELLS / paths,
        "resistance_shunt": CELL.resistance_shunt * CELLS / paths,
        "nNsVth": CELL.n_vth * CELLS,
    }
    v_oc = pvlib.pvsystem.singlediode(**whole)["v_oc"]
    voltage = np.linspace(0.01, 1.0, 100) * v_oc
    found = np.interp(voltage, curve.voltage[::-1], curve.current[::-1])
    wanted = pvlib.pvsystem.i_from_v(voltage, **whole)
    assert found == pytest.approx(wanted, abs=KNEE_ERROR * whole["photocurrent"])
    before = voltage < 0.5 * v_oc
    assert found[before] == pytest.approx(wanted[before], abs=1e-5 * whole["photocurrent"])
    assert curve.p_mp == pytest.approx(pvlib.pvsystem.singlediode(**whole)["p_mp"], rel=3e-4)


@pytest.mark.parametrize("reverse", [None, 60.0])
def test_a_cell_driven_backwards_follows_pvlibs_bishop_model(reverse):
    current, voltage, _ = pvlib.singlediode.bishop88(
        np.linspace(-0.98, -0.01, 200) * CELL.breakdown.voltage,
        CELL.photocurrent,
        CELL.saturation_current,
        CELL.resistance_series,
        reverse or CELL.resistance_shunt,
        CELL.n_vth,
        breakdown_factor=CELL.breakdown.factor,
        breakdown_voltage=-CELL.breakdown.voltage,
        breakdown_exp=CELL.breakdown.exponent,
    )[:3]
    found = cell_voltage(replace(CELL, resistance_reverse=reverse), current)
    assert found == pytest.approx(voltage, abs=0.001 * CELL.breakdown.voltage)


@pytest.mark.parametrize("cause", ["bypass_short", "module_missing"])
def test_open_circuit_voltage_falls_by_the_groups_that_are_lost(cause):
    rng = np.random.default_rng(8)
    (module,) = choose_types((Kind("mono-Si", 60, True, 1),), False, rng)
    string = UnevenString(module, 4, 800.0, WARM, Circumstances(), rng)
    before = v_oc_of(string)
    FAULTS[cause](string, 0.0)
    lost = int(string.shorted.sum()) + 3 * int(string.missing.sum())
    assert 0 < lost <= 4
    assert v_oc_of(string) / before == pytest.approx(1 - lost / 12, abs=0.005)


def v_oc_of(string: UnevenString) -> float:
    curve = string.curve().curve
    return float(np.interp(0.0, curve.current, curve.voltage))


def test_the_folder_is_opened_and_analysed(tmp_path):
    truth = generate(tmp_path, "usual", seed=20261129, strings=3)
    results, *_ = analyse(tmp_path)
    assert list(results) == ["S-0000", "S-0001", "S-0002"]
    for one in truth:
        result = results[one["name"]]
        judged = judge(one, result)
        assert judged.causes == ("none",)
        assert judged.groups_right is None
        assert result.measured.i_sc == pytest.approx(one["i_sc"], rel=0.015)
        assert result.measured.v_oc == pytest.approx(one["v_oc"], rel=0.015)
        used = result.conditions.poa_global / one["poa_global"] - 1
        assert used == pytest.approx(one["irradiance_error"], abs=1e-3)
        assert result.power_ratio == pytest.approx(1 - one["irradiance_error"], abs=0.03)
