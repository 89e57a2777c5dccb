"""A device's own factors are taken when its curves show them, and only then."""

from dataclasses import replace

import numpy as np
import pytest

from tests.physics.translation.desoto_curves import at, measured
from viewer.physics.translation.condition_curve import ConditionCurve
from viewer.physics.translation.corrections import InternalResistance
from viewer.physics.translation.factors_from_curves import KnownAtReference, factors_from_curves
from viewer.physics.translation.factors_of_device import device_factors, power_spread

CONDITIONS = [(500.0, 25.0), (700.0, 40.0), (900.0, 30.0), (1000.0, 60.0), (1050.0, 45.0)]
NEW = factors_from_curves(
    [at(g, t) for g in (500.0, 800.0, 1100.0) for t in (15.0, 40.0, 65.0)], KnownAtReference(60)
)


def aged(extra: float, noise: float = 0.0) -> list[ConditionCurve]:
    """The module behind `extra` ohm of worn connectors, with scatter of the powers."""
    generator = np.random.default_rng(3)
    curves = []
    for poa, temperature in CONDITIONS:
        v, i = measured(poa, temperature, 200)
        scale = 1.0 + noise * generator.standard_normal()
        curves.append(ConditionCurve(v - extra * i, i * scale, poa, temperature))
    return curves


def test_a_worn_device_gets_its_own_resistance() -> None:
    found = device_factors(aged(0.4), NEW)
    assert found.own
    added = found.corrections.second.resistance_series - NEW.second.resistance_series
    assert added == pytest.approx(0.4, rel=0.15)
    assert found.spread < 0.5 * found.spread_of_defaults
    assert "own 5 curves" in found.corrections.source


def test_a_new_device_keeps_the_defaults() -> None:
    found = device_factors(aged(0.0), NEW)
    assert not found.own
    assert found.corrections.second == NEW.second


def test_scatter_is_not_mistaken_for_resistance() -> None:
    """Powers that scatter by 3 % give no believable, clearly better resistance."""
    found = device_factors(aged(0.0, 0.03), NEW)
    assert not found.own


@pytest.mark.parametrize(
    "conditions", [CONDITIONS[:2], [(900.0, 20.0), (950.0, 40.0), (1000.0, 60.0)]]
)
def test_too_little_to_tell_keeps_the_defaults(conditions: list[tuple[float, float]]) -> None:
    found = device_factors([at(g, t) for g, t in conditions], NEW)
    assert found.corrections is NEW
    assert np.isnan(found.spread)


def test_spread_is_that_of_the_translated_powers() -> None:
    """Without any correction factor the powers of several conditions cannot agree."""
    nothing = InternalResistance(0.0, 0.0)
    bare = replace(NEW, second=nothing, beta_voc=0.0, b_1=0.0, b_2=0.0)
    assert power_spread(aged(0.0), bare) > 10 * power_spread(aged(0.0), NEW)
