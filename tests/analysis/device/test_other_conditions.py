"""A curve at other conditions: against pvlib's own curve there."""

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.device.traced_module import NO_MODELS, NOWHERE, traced, true_points, usable
from viewer.analysis.device.other_conditions import INTERPOLATION, between, moved_there
from viewer.analysis.device.usable_traces import usable_traces
from viewer.analysis.prediction.preparation import prepare
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.site_data.iv_trace import MeasuredConditions

EXACT = InputUncertainties(irradiance=0.0, temperature_cell=0.0, voltage=0.0, current=0.0)
INPUTS = InputUncertainties()


@pytest.mark.parametrize("to", [(1000.0, 25.0), (800.0, 45.0), (700.0, 40.0)])
def test_between_curves_the_key_points_are_those_of_the_curve_there(to):
    found = between(usable(), NOWHERE, NO_MODELS, to, EXACT)
    true = true_points(*to)
    for name, value in true.items():
        off = getattr(found.key_points, name) - value
        assert abs(off) < getattr(found.uncertainty, name) + 5e-4 * value, name
    assert found.key_points.p_mp == pytest.approx(true["p_mp"], rel=4e-3)
    assert found.uncertainty.p_mp < 0.012 * true["p_mp"]
    assert "procedure 3" in found.procedure
    assert len(found.sources) == 3


def test_the_sensors_decide_how_well_it_is_known():
    """An irradiance of 1.25 % more on all curves is as much less current at 1000 W/m²."""
    to = (800.0, 45.0)
    traces = usable(noise=0.0)
    light = InputUncertainties(irradiance=0.0125, temperature_cell=0.0, voltage=0.0, current=0.0)
    found = between(traces, NOWHERE, NO_MODELS, to, light)
    assert found.uncertainty.i_sc / found.key_points.i_sc == pytest.approx(0.025, rel=0.03)
    assert found.uncertainty.v_oc / found.key_points.v_oc < 0.005
    warm = InputUncertainties(irradiance=0.0, temperature_cell=1.0, voltage=0.0, current=0.0)
    found = between(traces, NOWHERE, NO_MODELS, to, warm)
    step = true_points(800.0, 46.0)["v_oc"] - true_points(800.0, 45.0)["v_oc"]
    by_procedure = INTERPOLATION["v_oc"] * found.key_points.v_oc
    wanted = 2.0 * math.hypot(step, by_procedure)
    assert found.uncertainty.v_oc == pytest.approx(wanted, rel=0.05)


def test_the_true_values_lie_within_the_uncertainty_in_19_of_20_cases():
    """Sensors off by an error common to a visit, meters by one scale, points by their own noise."""
    random = np.random.default_rng(5)
    to, inside = (800.0, 45.0), []
    true = true_points(*to)
    while len(inside) < 100:
        light, kelvin = random.normal(0.0, 0.0125), random.normal(0.0, 1.0)
        volts, amperes = 1.0 + random.normal(0.0, 0.0025, 2)
        traces = []
        for seed, poa in enumerate(random.uniform(450.0, 1050.0, 6)):
            cell = float(random.uniform(25.0, 65.0))
            one = traced(poa, cell, seed, 1e-4)
            read = MeasuredConditions(poa_global=poa * (1 + light), temperature_cell=cell + kelvin)
            traces.append(
                replace(
                    one,
                    voltage=volts * one.voltage,
                    current=amperes * one.current,
                    conditions=read,
                )
            )
        prepared, _ = prepare(traces, NOWHERE, NO_MODELS)
        found = between(prepared, NOWHERE, NO_MODELS, to, INPUTS)
        inside.append(
            [
                abs(getattr(found.key_points, name) - value) <= getattr(found.uncertainty, name)
                for name, value in true.items()
            ]
        )
    assert np.all(np.mean(inside, axis=0) >= 0.89)


def test_of_two_curves_the_uncertainty_is_not_told_and_that_is_said():
    two = usable(((600.0, 25.0), (1000.0, 25.0)))
    found = between(two, NOWHERE, NO_MODELS, (800.0, 25.0), INPUTS)
    assert found.uncertainty is None
    assert any("A third curve would" in one for one in found.remarks)
    assert found.key_points.p_mp == pytest.approx(true_points(800.0, 25.0)["p_mp"], rel=4e-3)


def test_beyond_the_curves_it_is_called_an_extrapolation():
    inside = between(usable(), NOWHERE, NO_MODELS, (800.0, 45.0), INPUTS)
    outside = between(usable(), NOWHERE, NO_MODELS, (1100.0, 20.0), INPUTS)
    assert inside.remarks == ()
    assert "extrapolation" in outside.remarks[0]


@pytest.mark.parametrize("to", [(420.0, 60.0), (700.0, 80.0), (1200.0, 75.0), (1000.0, 0.0)])
def test_outside_the_curves_the_true_values_are_within_the_uncertainty(to):
    """Of sensors without error: what is left is the interpolation's own part."""
    found = between(usable(noise=0.0), NOWHERE, NO_MODELS, to, EXACT)
    for name, value in true_points(*to).items():
        off = getattr(found.key_points, name) - value
        assert abs(off) < 1.1 * getattr(found.uncertainty, name), name


def test_without_a_datasheet_one_curve_is_not_moved():
    with pytest.raises(ValueError, match=r"module_0.csv: No prediction: there is no site.toml"):
        moved_there(usable(), NOWHERE, NO_MODELS, (800.0, 45.0), 2, INPUTS)


def test_traces_that_cannot_be_used_are_named():
    whole = traced(900.0, 40.0, 0)
    keep = whole.voltage < 30.0
    from_dark = traced(900.0, 40.0, 1)
    traces = [
        whole,
        type(whole)(
            "broken.csv",
            whole.voltage[keep],
            whole.current[keep],
            conditions=whole.conditions,
        ),
        type(whole)("dark.csv", from_dark.voltage, from_dark.current),
    ]
    prepared, _ = prepare(traces, NOWHERE, NO_MODELS)
    found, left_out = usable_traces(prepared)
    assert [one.trace.source for one in found] == ["module_0.csv"]
    assert left_out == [
        "broken.csv is left out: the sweep ends before the open-circuit voltage.",
        "dark.csv is left out: no irradiance was recorded (poa_global).",
    ]
