"""Correction factors of many modules at once, and what they are made from."""

from dataclasses import astuple

import numpy as np
import pytest

from viewer.physics.datasheet.datasheet_fit import fit_datasheets
from viewer.physics.single_diode import curve, exact_key_points
from viewer.physics.translation.condition_curve import ConditionCurve
from viewer.physics.translation.corrections import Corrections
from viewer.physics.translation.factors_from_curves import KnownAtReference, factors_from_curves
from viewer.physics.translation.factors_from_model import (
    FIELD_IRRADIANCES,
    FIELD_TEMPERATURES,
    TOGETHER,
    factors_from_model,
    factors_from_models,
)

COUNT = TOGETHER + 3
GROWTH = np.linspace(0.8, 1.3, COUNT)
FITS = fit_datasheets(
    9.5 * GROWTH,
    45.5,
    9.0 * GROWTH,
    37.5,
    0.0005 * 9.5 * GROWTH,
    -0.0029 * 45.5,
    -0.0037,
    72,
    ["mono-Si", "multi-Si"] * (COUNT // 2) + ["n-type-Si"] * (COUNT % 2),
)
MODELS = [FITS.model[k] for k in range(COUNT)]


def numbers(found: Corrections) -> np.ndarray:
    flat = [x for x in astuple(found) if not isinstance(x, str)]
    return np.array([y for x in flat for y in (x if isinstance(x, tuple) else (x,))])


def test_modules_taken_together_are_those_taken_alone() -> None:
    together = factors_from_models(MODELS)
    assert len(together) == COUNT
    for k in (0, TOGETHER - 1, TOGETHER, COUNT - 1):
        alone = factors_from_model(MODELS[k])
        assert numbers(together[k]) == pytest.approx(numbers(alone), rel=1e-9)
        assert together[k].source == alone.source
    assert together[0].i_sc < together[-1].i_sc


def test_they_are_the_factors_of_the_models_curves() -> None:
    """The same through single curves and the model's exact key points."""
    model = MODELS[2]
    curves = [
        ConditionCurve(*curve(model.operating(g, t), 200), g, t)
        for g in FIELD_IRRADIANCES
        for t in FIELD_TEMPERATURES
    ]
    cold, mean, warm = (exact_key_points(model.operating(1000.0, t)) for t in (24.0, 25.0, 26.0))
    alpha, beta = (float((warm[k] - cold[k]) / (2.0 * mean[k])) for k in ("i_sc", "v_oc"))
    known = KnownAtReference(72, float(mean["i_sc"]), float(mean["v_oc"]), alpha, beta)
    by_hand, found = factors_from_curves(curves, known), factors_from_model(model)
    assert found.first.kappa == pytest.approx(by_hand.first.kappa, rel=1e-8)
    assert found.second.resistance_series == pytest.approx(
        by_hand.second.resistance_series, rel=1e-8
    )
    assert found.b_1 == pytest.approx(by_hand.b_1, rel=1e-8)
    assert found.alpha_sc == pytest.approx(alpha, rel=1e-8)
    assert found.resistance_series == pytest.approx(float(model.resistance_series_ref))


def test_no_modules_have_no_factors() -> None:
    assert factors_from_models([]) == []


def test_factors_of_many_devices_stand_at_their_places() -> None:
    first, second = (factors_from_model(MODELS[k]) for k in (0, 5))
    found = Corrections.of_each([first, second, second])
    for k, one in enumerate((first, second, second)):
        assert numbers(found[k]) == pytest.approx(numbers(one), rel=1e-15)
    assert Corrections.of_each([second, second]) is second
