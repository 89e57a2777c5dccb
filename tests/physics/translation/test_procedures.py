"""What every procedure must do whatever the device: identity, scaling, batches, ends."""

import numpy as np
import pytest

from tests.physics.translation.desoto_curves import measured
from viewer.physics.translation import PROCEDURES, translate
from viewer.physics.translation.corrections import Corrections, InternalResistance

CORRECTIONS = Corrections(
    i_sc=9.5,
    v_oc=39.7,
    alpha_sc=0.0005,
    beta_voc=-0.003,
    first=InternalResistance(0.30, 0.0010),
    second=InternalResistance(0.29, 0.0012),
    resistance_series=0.3,
    b_1=0.04,
    b_2=0.001,
    cells_in_series=60,
)
ONE_CURVE = (1, 2, 4)


@pytest.mark.parametrize("procedure", ONE_CURVE)
def test_same_conditions_change_nothing(procedure: int) -> None:
    v, i = measured(800.0, 50.0)
    same = translate(
        v,
        i,
        poa_global=800.0,
        temperature_cell=50.0,
        to_poa_global=800.0,
        to_temperature_cell=50.0,
        corrections=CORRECTIONS,
        procedure=procedure,
    )
    assert np.interp(same.voltage, v, i) == pytest.approx(same.current, abs=2e-4)
    assert same.v_oc == pytest.approx(v[-1], rel=1e-6)


@pytest.mark.parametrize("procedure", ONE_CURVE)
def test_there_and_back(procedure: int) -> None:
    v, i = measured(900.0, 45.0)
    there = translate(
        v,
        i,
        poa_global=900.0,
        temperature_cell=45.0,
        corrections=CORRECTIONS,
        procedure=procedure,
    )
    back = translate(
        there.voltage,
        there.current,
        poa_global=1000.0,
        temperature_cell=25.0,
        to_poa_global=900.0,
        to_temperature_cell=45.0,
        corrections=CORRECTIONS,
        procedure=procedure,
    )
    assert np.max(back.voltage * back.current) == pytest.approx(np.max(v * i), rel=2e-3)
    assert back.v_oc == pytest.approx(v[-1], rel=2e-3)


@pytest.mark.parametrize("procedure", ONE_CURVE)
def test_a_harness_is_its_module_scaled(procedure: int) -> None:
    v, i = measured(700.0, 55.0)
    conditions = {"poa_global": 700.0, "temperature_cell": 55.0, "procedure": procedure}
    module = translate(v, i, corrections=CORRECTIONS, **conditions)
    harness = translate(
        18 * v, 2 * i, corrections=CORRECTIONS.in_series(18).in_parallel(2), **conditions
    )
    assert harness.voltage == pytest.approx(18 * module.voltage, rel=1e-9, abs=1e-9)
    assert harness.current == pytest.approx(2 * module.current, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("procedure", ONE_CURVE)
def test_a_batch_with_unequal_lengths_equals_one_by_one(procedure: int) -> None:
    curves = [measured(700.0, 55.0, 80), measured(1000.0, 20.0, 120)]
    poa, temperature = np.array([700.0, 1000.0]), np.array([55.0, 20.0])
    v, i = np.full((2, 120), np.nan), np.full((2, 120), np.nan)
    for row, (one_v, one_i) in enumerate(curves):
        v[row, : one_v.size], i[row, : one_v.size] = one_v, one_i
    batch = translate(
        v,
        i,
        poa_global=poa,
        temperature_cell=temperature,
        corrections=CORRECTIONS,
        procedure=procedure,
    )
    for row, (one_v, one_i) in enumerate(curves):
        alone = translate(
            one_v,
            one_i,
            poa_global=poa[row],
            temperature_cell=temperature[row],
            corrections=CORRECTIONS,
            procedure=procedure,
        )
        assert batch.v_oc[row] == pytest.approx(alone.v_oc, rel=1e-12)
        assert batch.i_sc[row] == pytest.approx(alone.i_sc, rel=1e-12)
        inside = np.isfinite(batch.voltage[row])
        here = np.interp(batch.voltage[row][inside], alone.voltage, alone.current)
        assert here == pytest.approx(batch.current[row][inside], abs=1e-9)


@pytest.mark.parametrize("procedure", ONE_CURVE)
@pytest.mark.parametrize(("poa", "temperature"), [(500.0, 65.0), (1100.0, 5.0)])
def test_the_curve_runs_from_short_to_open_circuit(
    procedure: int, poa: float, temperature: float
) -> None:
    v, i = measured(poa, temperature)
    found = translate(
        v,
        i,
        poa_global=poa,
        temperature_cell=temperature,
        corrections=CORRECTIONS,
        procedure=procedure,
    )
    assert found.voltage[0] == 0.0
    assert found.current[-1] == 0.0
    assert np.all(np.diff(found.voltage) > 0.0)
    assert np.all(np.diff(found.current) <= 1e-9)


def test_every_result_names_its_procedure() -> None:
    v, i = measured(800.0, 40.0)
    for procedure in ONE_CURVE:
        found = translate(
            v,
            i,
            poa_global=800.0,
            temperature_cell=40.0,
            corrections=CORRECTIONS,
            procedure=procedure,
        )
        assert found.procedure.startswith(PROCEDURES[procedure])
        assert f"procedure {procedure}" in found.procedure


def test_another_number_is_refused() -> None:
    v, i = measured()
    with pytest.raises(ValueError, match="choose 1, 2 or 4"):
        translate(
            v, i, poa_global=800.0, temperature_cell=40.0, corrections=CORRECTIONS, procedure=3
        )


def test_a_cable_is_carried_along() -> None:
    """A string behind 0.5 ohm translates to the string translated, behind 0.5 ohm."""
    v, i = measured(700.0, 55.0)
    conditions = {"poa_global": 700.0, "temperature_cell": 55.0, "procedure": 2}
    plain = translate(v, i, corrections=CORRECTIONS, **conditions)
    behind = translate(v - 0.5 * i, i, corrections=CORRECTIONS.with_extra_series(0.5), **conditions)
    shifted = np.interp(-behind.current[1:-1], -plain.current, plain.voltage)
    assert behind.voltage[1:-1] == pytest.approx(shifted - 0.5 * behind.current[1:-1], abs=1e-3)


@pytest.mark.parametrize("procedure", ONE_CURVE)
def test_a_sweep_that_stops_short_and_scatters_still_finds_its_ends(procedure: int) -> None:
    """Points from 5 V to 10 % of Isc with 0.3 % scatter: ends within 1 % of the full curve's."""
    v, i = measured(700.0, 50.0, 200)
    conditions = {
        "poa_global": 700.0,
        "temperature_cell": 50.0,
        "corrections": CORRECTIONS,
        "procedure": procedure,
    }
    full = translate(v, i, **conditions)
    kept = (v > 5.0) & (i > 0.1 * i[0])
    generator = np.random.default_rng(7)
    scattered = i[kept] * (1.0 + 0.003 * generator.standard_normal((50, kept.sum())))
    part = translate(np.broadcast_to(v[kept], scattered.shape), scattered, **conditions)
    assert part.v_oc == pytest.approx(np.full(50, full.v_oc), rel=0.003)
    assert np.std(part.i_sc) < 0.005 * full.i_sc
    assert np.mean(part.i_sc) == pytest.approx(full.i_sc, rel=0.003)


@pytest.mark.parametrize("procedure", ONE_CURVE)
def test_known_ends_are_kept(procedure: int) -> None:
    """At the same conditions a curve ends where its measured Isc and Voc were said to be."""
    v, i = measured(700.0, 50.0)
    same = translate(
        v,
        i,
        poa_global=700.0,
        temperature_cell=50.0,
        to_poa_global=700.0,
        to_temperature_cell=50.0,
        corrections=CORRECTIONS,
        procedure=procedure,
        i_sc=6.7,
        v_oc=37.1,
    )
    assert same.i_sc == pytest.approx(6.7)
    assert same.v_oc == pytest.approx(37.1)
