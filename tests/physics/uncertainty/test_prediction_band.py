"""The band of a predicted curve against curves drawn from its inputs (JCGM 101)."""

from dataclasses import replace

import numpy as np
import pytest

from viewer.physics.datasheet.datasheet_fit import fit_module
from viewer.physics.single_diode import current_at
from viewer.physics.uncertainty.prediction_band import BandCase, prediction_band
from viewer.physics.uncertainty.prediction_uncertainty import predicted_uncertainty
from viewer.physics.uncertainty.uncertainty import INPUT_NAMES, InputUncertainties

MODEL = fit_module(11.0, 49.5, 10.3, 41.5, 0.0055, -0.1386, -0.0036, 72, "mono-Si").model
CASE = BandCase(MODEL, 800.0, 50.0, 20)
INPUTS = InputUncertainties()
NONE = replace(INPUTS, **dict.fromkeys(INPUT_NAMES, 0.0))


def test_nothing_uncertain_is_no_band() -> None:
    found = prediction_band(CASE, NONE)
    assert found.low == pytest.approx(found.current)
    assert found.high == pytest.approx(found.current)


def test_ends_are_those_of_the_key_points() -> None:
    """At 0 V the half width is Isc's expanded uncertainty; the band crosses zero around Voc's."""
    found = prediction_band(CASE, INPUTS, 400)
    points = predicted_uncertainty(MODEL, 800.0, 50.0, INPUTS, 20)
    half = 0.5 * (found.high[0] - found.low[0])
    assert half == pytest.approx(float(points.expanded("i_sc")), rel=0.01)
    low_end = found.voltage[found.low > 0.0][-1]
    expected = float(points.values["v_oc"] - points.expanded("v_oc"))
    assert low_end == pytest.approx(expected, rel=2e-3)
    assert found.high[-1] < 0.05 * found.current[0]


def test_irradiance_and_temperature_by_draws() -> None:
    """95 % of curves drawn from both inputs lie inside, at every voltage to the knee."""
    inputs = replace(NONE, irradiance=0.0125, temperature_cell=1.0)
    found = prediction_band(CASE, inputs)
    generator = np.random.default_rng(2)
    draws = generator.standard_normal((2000, 2))
    devices = MODEL.operating(800.0 * (1 + 0.0125 * draws[:, :1]), 50.0 + draws[:, 1:])
    drawn = current_at(devices.in_series(20), found.voltage)
    inside = np.mean((drawn >= found.low) & (drawn <= found.high), axis=0)
    knee = found.voltage < 0.97 * 910.0
    assert inside[knee] == pytest.approx(0.9545, abs=0.015)


def test_a_harness_has_the_band_of_its_strings() -> None:
    one = prediction_band(CASE, replace(NONE, irradiance=0.02))
    three = prediction_band(replace(CASE, strings_in_parallel=3), replace(NONE, irradiance=0.02))
    assert three.high == pytest.approx(3 * one.high, rel=1e-6, abs=1e-9)
