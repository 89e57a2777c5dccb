import numpy as np
import pytest

from viewer.physics.cell_string.cell_fields import StringMakeup
from viewer.physics.cell_string.cells import ModuleWiring
from viewer.physics.cell_string.group_states import GroupState, cell_heat, cell_voltages
from viewer.physics.cell_string.simulate import simulate
from viewer.physics.datasheet.datasheet_fit import fit_module
from viewer.physics.single_diode import exact_key_points
from viewer.site_data.scenario_file import scenarios


def makeup(**options):
    fit = fit_module(9.2, 46.0, 8.7, 37.5, 0.0046, -0.138, -0.0039, 72, "mono-Si")
    assert fit.model is not None
    return StringMakeup(fit.model, 20, ModuleWiring(72, 1, 3), **options)


def run(key, severity=None, extent=None, **options):
    scenario = scenarios()[key]
    start = scenario.severity.start if severity is None else severity
    return simulate(scenario, start, 900.0, 50.0, makeup(**options), extent)


def power(sim):
    return float((sim.voltage * sim.current).max())


def kinds_in_string(sim, state, point):
    values = sim.states.over_string(sim.states.state, point)
    return sum(int((one == state).sum()) for one in values)


@pytest.mark.parametrize("key", list(scenarios()))
def test_every_scenario_gives_a_falling_curve_over_its_whole_range(key):
    knob = scenarios()[key].severity
    for share in (0.0, 0.5, 1.0):
        sim = run(key, knob.at_share(share))
        assert np.isfinite(sim.voltage).all()
        assert (np.diff(sim.current) <= 1e-9).all()
        assert sim.voltage[-1] > 0


def test_healthy_without_spread_is_the_models_string():
    sim = run("healthy", 0.0)
    expected = exact_key_points(makeup().model.operating(900.0, 50.0).in_series(20))
    assert sim.current[0] == pytest.approx(float(expected["i_sc"]), rel=1e-4)
    assert sim.voltage[-1] == pytest.approx(float(expected["v_oc"]), rel=1e-4)
    assert power(sim) == pytest.approx(float(expected["p_mp"]), rel=1e-3)


def test_even_soiling_takes_its_share_of_current():
    healthy, dusty = run("healthy", 0.0), run("uniform_soiling", 10.0)
    assert dusty.current[0] / healthy.current[0] == pytest.approx(0.9, abs=1e-3)


def test_a_shadow_makes_a_stair_of_whole_groups():
    healthy, shaded = run("healthy", 0.0), run("hard_shade", 60.0, 6)
    at = 0.7 * healthy.current[0]
    before, after = (np.interp(-at, -sim.current, sim.voltage) for sim in (healthy, shaded))
    # Each bypassed group takes away its own share of the voltage and its diode's drop.
    drop = (before - after) / 6 - before / 60
    assert 0.3 < drop < 0.6
    assert kinds_in_string(shaded, GroupState.BYPASSED, shaded.point_at_current(at)) == 6
    low = shaded.point_at_current(0.2 * healthy.current[0])
    assert kinds_in_string(shaded, GroupState.CONDUCTING, low) == 60


def test_an_open_diode_leaves_a_cell_in_reverse_that_heats():
    sim = run("open_bypass", 60.0)
    point = sim.point_at_current(0.6 * sim.current[0])
    assert kinds_in_string(sim, GroupState.REVERSE, point) == 1
    (heat,) = cell_heat(sim.solution, point)
    (volts,) = cell_voltages(sim.solution, point)
    assert np.unravel_index(heat.argmax(), heat.shape) == np.unravel_index(
        volts.argmin(), volts.shape
    )
    assert heat.max() > 5.0
    assert sim.states.hottest_cell_power[:, point].max() == pytest.approx(heat.max())
    assert sim.states.reverse_cells[:, point].sum() == (volts < -0.1).sum()


def test_what_cells_heat_and_deliver_adds_up_to_the_strings_power():
    sim = run("dead_cell", 60.0)
    point = sim.point_at_voltage(500.0)
    (heat,) = cell_heat(sim.solution, point)
    kinds = sim.states.group_kind[0]
    bypass = sim.states.bypass_current[kinds, point] * sim.states.voltage[kinds, point]
    assert -heat.sum() + bypass.sum() == pytest.approx(
        sim.voltage[point] * sim.current[point], rel=1e-6
    )


def test_missing_modules_are_left_out_of_the_states():
    sim = run("missing_module", 2)
    assert sim.present.sum() == 18
    assert sim.states.group_kind[0].shape == (18, 3)


def test_a_wrong_sensor_changes_the_record_and_not_the_curve():
    healthy, wrong = run("healthy", 0.0), run("wrong_irradiance_reading", 10.0)
    np.testing.assert_allclose(wrong.current, healthy.current, atol=1e-3)
    assert wrong.recorded_irradiance == pytest.approx(990.0)
    assert run("wrong_temperature_reading", -15.0).recorded_temperature == pytest.approx(35.0)


def test_ageing_loses_about_what_it_says():
    for percent in (3.0, 10.0, 20.0):
        ratio = power(run("ageing", percent)) / power(run("healthy", 0.0))
        assert 1 - ratio == pytest.approx(percent / 100, rel=0.2)


@pytest.mark.parametrize(
    "key", ["uniform_soiling", "soiling_wedge", "hard_shade", "soft_shade", "dead_cell",
            "shorted_bypass", "missing_module", "corroded_connector", "ageing"],
)  # fmt: skip
def test_worse_is_worse(key):
    knob = scenarios()[key].severity
    powers = [power(run(key, knob.at_share(share))) for share in (0.0, 0.3, 0.6, 1.0)]
    assert (np.diff(powers) < 1e-6 * powers[0]).all()
    assert powers[-1] < powers[0]


def test_settings_are_held_to_their_range():
    sim = run("shorted_bypass", 99.0)
    assert sim.severity == 12.0
    assert run("hard_shade", 50.0, 2.6).extent == 3.0


def test_spread_is_drawn_by_its_seed():
    first, again, other = (run("healthy", 0.0, spread_seed=s) for s in (1, 1, 2))
    assert (first.voltage == again.voltage).all()
    assert np.abs(first.voltage - other.voltage).max() > 1e-3


def test_no_light_is_refused_in_words():
    with pytest.raises(ValueError, match="irradiance above 0"):
        simulate(scenarios()["healthy"], 0.0, 0.0, 25.0, makeup())


def test_what_is_said_of_a_dead_cells_plateau_holds_for_both_kinds_of_module():
    """With a cell lost whole a half-cut group still carries its other half; the words gave 0."""
    halved = StringMakeup(makeup().model, 20, ModuleWiring(72, 2, 3))
    for string, plateau in ((makeup(), 0.0), (halved, 0.5)):
        sim = simulate(scenarios()["dead_cell"], 100.0, 900.0, 50.0, string, 6)
        bypassed = sim.states.bypass_current.max(axis=0) > 0.01 * sim.current.max()
        turn = sim.current[bypassed].min() / sim.current.max()
        assert turn == pytest.approx(plateau, abs=0.15)
    said = " ".join(scenarios()["dead_cell"].reasons)
    assert "half-cut module the other half of its group carries half the current" in said
