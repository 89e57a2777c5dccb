import numpy as np
import pytest

from viewer.physics.cell_string.cell_fields import StringMakeup
from viewer.physics.cell_string.cells import ModuleWiring
from viewer.physics.cell_string.field_noise import NoiseSize, recorded_sweep
from viewer.physics.cell_string.severity_fit import MeasuredCurve, fit_severity, ranked
from viewer.physics.cell_string.simulate import simulate
from viewer.physics.datasheet.datasheet_fit import fit_module
from viewer.site_data.scenario_file import scenarios


def makeup(spread_seed=None):
    fit = fit_module(13.8, 49.5, 12.95, 41.6, 0.0066, -0.134, -0.0034, 72, "mono-Si")
    assert fit.model is not None
    return StringMakeup(fit.model, 24, ModuleWiring(72, 2, 3), 0.3, spread_seed=spread_seed)


def measured(key, severity, extent=None, seed=1):
    """A noisy record of modules that differ, read by sensors that are a little wrong."""
    sim = simulate(scenarios()[key], severity, 880.0, 52.0, makeup(seed), extent)
    sweep = recorded_sweep(sim, seed)
    return MeasuredCurve(sweep.voltage, sweep.current, sweep.poa_global, sweep.temperature_cell)


@pytest.mark.parametrize(
    ("key", "severity", "extent", "within"),
    [
        ("hard_shade", 45.0, 4, 3.0),
        ("dead_cell", 60.0, 2, 6.0),
        ("corroded_connector", 2.5, None, 0.2),
        ("soiling_wedge", 30.0, 1, 4.0),
        ("other_module_type", 12.0, 3, 1.5),
        ("uniform_soiling", 12.0, None, 2.5),
        ("ageing", 8.0, None, 1.5),
        ("wrong_temperature_reading", -18.0, None, 2.5),
    ],
)
def test_the_severity_put_in_is_found_again(key, severity, extent, within):
    fit = fit_severity(scenarios()[key], measured(key, severity, extent), makeup())
    assert fit.severity == pytest.approx(severity, abs=within)
    if extent is None:
        assert fit.extent is None
    else:
        assert fit.extent == pytest.approx(extent, abs=1)
    assert fit.misfit < 0.006
    assert fit.current_factor == pytest.approx(1.0, abs=0.03)


def test_the_fitted_curve_lies_on_the_measured_one():
    curve = measured("hard_shade", 60.0, 6)
    fit = fit_severity(scenarios()["hard_shade"], curve, makeup())
    flat = curve.voltage < 0.6 * curve.voltage[-1]
    laid = np.interp(curve.voltage[flat], fit.voltage, fit.current)
    np.testing.assert_allclose(laid, curve.current[flat], atol=0.008 * curve.current[0])


@pytest.mark.parametrize(
    ("key", "severity", "extent"),
    [("healthy", 0.0, None), ("corroded_connector", 3.0, None), ("soiling_wedge", 40.0, 1)],
)
def test_the_right_scenario_explains_best(key, severity, extent):
    chosen = ("healthy", "corroded_connector", "soiling_wedge", "hard_shade", "ageing")
    curve = measured(key, severity, extent, seed=4)
    fits = ranked(fit_severity(scenarios()[name], curve, makeup()) for name in chosen)
    assert fits[0].scenario.key == key


def test_without_noise_a_record_is_the_curve():
    sim = simulate(scenarios()["hard_shade"], 50.0, 900.0, 50.0, makeup(), 3)
    sweep = recorded_sweep(sim, 1, NoiseSize(0.0, 0.0, 0.0, 0.0), 90)
    assert sweep.voltage.shape == (90,)
    assert sweep.poa_global == 900.0
    np.testing.assert_allclose(sweep.current, np.interp(sweep.voltage, sim.voltage, sim.current))


def test_what_cannot_be_fitted_is_refused_in_words():
    few = MeasuredCurve(np.arange(4.0), np.arange(4.0), 900.0, 50.0)
    with pytest.raises(ValueError, match="at least five points"):
        fit_severity(scenarios()["healthy"], few, makeup())
    dark = MeasuredCurve(np.arange(9.0), np.arange(9.0), 0.0, 50.0)
    with pytest.raises(ValueError, match="irradiance of the curve is needed"):
        fit_severity(scenarios()["healthy"], dark, makeup())
