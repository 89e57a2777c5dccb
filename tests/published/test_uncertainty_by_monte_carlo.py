"""Propagated uncertainties against propagation of distributions.

JCGM 101:2008 (Supplement 1 to the GUM): draw the inputs, run the whole model on each draw and
take the standard deviation and the 95 % interval of the results. Here 20 000 draws with a
fixed seed, whose own standard error of a standard deviation is 0.5 %.
"""

import numpy as np
import pvlib
import pytest

from viewer.physics.single_diode import DiodeParameters, curve, exact_key_points
from viewer.physics.translation import translate
from viewer.physics.translation.corrections import Corrections, InternalResistance
from viewer.physics.translation.factors_from_model import factors_from_model
from viewer.physics.translation.translated_key_points import translated_key_points
from viewer.physics.translation.translation_uncertainty import distance, translated_uncertainty
from viewer.physics.uncertainty.prediction_uncertainty import (
    measured_uncertainty,
    predicted_uncertainty,
)
from viewer.physics.uncertainty.uncertainty import SCALES, InputUncertainties, ratio_expanded

DRAWS = 20_000
MODULES = 20
INPUTS = InputUncertainties()
NAMES = ("i_sc", "v_oc", "i_mp", "v_mp", "p_mp")


class DeSotoModule:
    """An invented 72-cell module by pvlib's De Soto model."""

    cells_in_series = np.asarray(72)

    def operating(self, effective_irradiance: np.ndarray, temperature_cell: np.ndarray):
        g, t = np.asarray(effective_irradiance, float), np.asarray(temperature_cell, float)
        il, io, rs, rsh, a = pvlib.pvsystem.calcparams_desoto(
            g, t, 0.0055, 1.95, 11.05, 1.2e-10, 600.0, 0.21
        )
        return DiodeParameters.of(il, io, rs, rsh, a)


def module() -> DeSotoModule:
    return DeSotoModule()


def scaled(points: dict, draws: dict) -> dict:
    """Key points multiplied by drawn scales of current, voltage and fill factor."""
    return {
        name: np.asarray(points[name])
        * np.prod([(1 + e) ** SCALES[scale].get(name, 0.0) for scale, e in draws.items()], axis=0)
        for name in NAMES
    }


def draw_predicted(generator: np.random.Generator, poa: float, temperature: float) -> dict:
    normal = generator.standard_normal
    g = poa * (1 + INPUTS.irradiance * normal(DRAWS))
    t = temperature + INPUTS.temperature_cell * normal(DRAWS)
    points = exact_key_points(module().operating(g, t).in_series(MODULES))
    points = scaled(points, {"fill_factor": INPUTS.model * normal(DRAWS)})
    for scale in SCALES:
        sheet = getattr(INPUTS, f"datasheet_{scale}") * normal(DRAWS)
        spread = getattr(INPUTS, f"spread_{scale}") * normal((MODULES, DRAWS)).mean(axis=0)
        points = scaled(scaled(points, {scale: sheet}), {scale: spread})
    return points


@pytest.mark.parametrize(("poa", "temperature"), [(450.0, 30.0), (800.0, 50.0), (1050.0, 68.0)])
def test_predicted_key_points(poa: float, temperature: float) -> None:
    drawn = draw_predicted(np.random.default_rng(11), poa, temperature)
    found = predicted_uncertainty(module(), poa, temperature, INPUTS, MODULES)
    for name in NAMES:
        assert found.standard(name) == pytest.approx(np.std(drawn[name]), rel=0.025), name
        low, high = np.percentile(drawn[name], [2.5, 97.5])
        assert found.expanded(name) == pytest.approx((high - low) / 2 / 0.98, rel=0.03), name


def test_power_ratio() -> None:
    generator = np.random.default_rng(12)
    drawn = draw_predicted(generator, 800.0, 50.0)
    found = predicted_uncertainty(module(), 800.0, 50.0, INPUTS, MODULES)
    true = {name: 0.93 * found.values[name] for name in NAMES}
    readings = scaled(
        true,
        {
            "voltage": INPUTS.voltage * generator.standard_normal(DRAWS),
            "current": INPUTS.current * generator.standard_normal(DRAWS),
        },
    )
    ratio = readings["p_mp"] / drawn["p_mp"]
    expanded = ratio_expanded(measured_uncertainty(true, INPUTS), found)
    assert expanded == pytest.approx(2 * np.std(ratio), rel=0.025)


def varied(c: Corrections, generator: np.random.Generator, draws: int) -> Corrections:
    """Correction data with drawn errors, one set a draw."""
    alpha, beta, rs, kappa = (
        1 + u * generator.standard_normal(draws)
        for u in (INPUTS.alpha_sc, INPUTS.beta_voc, INPUTS.internal_resistance, INPUTS.kappa)
    )
    gap = (c.v_oc - c.beta_voc * beta * c.v_oc * 298.15) / c.cells_in_series

    def both(one: InternalResistance) -> InternalResistance:
        return InternalResistance(one.resistance_series * rs, one.kappa * kappa)

    return Corrections(
        c.i_sc,
        c.v_oc,
        c.alpha_sc * alpha,
        c.beta_voc * beta,
        both(c.first),
        both(c.second),
        c.resistance_series * rs,
        c.b_1,
        c.b_2,
        c.cells_in_series,
        gap,
    )


@pytest.mark.parametrize("procedure", [1, 2, 4])
def test_translated_key_points(procedure: int) -> None:
    draws, poa, temperature = 4000, 720.0, 55.0
    generator = np.random.default_rng(13)
    normal = generator.standard_normal
    corrections = factors_from_model(module()).in_series(MODULES)
    v, i = curve(module().operating(poa, temperature).in_series(MODULES), 100)
    ones = np.ones((draws, 1))
    moved = translate(
        v * ones * (1 + INPUTS.voltage * normal((draws, 1))),
        i * ones * (1 + INPUTS.current * normal((draws, 1))),
        poa_global=poa * (1 + INPUTS.irradiance * normal(draws)),
        temperature_cell=temperature + INPUTS.temperature_cell * normal(draws),
        corrections=varied(corrections, generator, draws),
        procedure=procedure,
    )
    far = distance(poa, temperature, 1000.0, 25.0)
    by_procedure = {"fill_factor": far * INPUTS.procedure * normal(draws)}
    drawn = scaled(translated_key_points(moved), by_procedure)
    found = translated_uncertainty(
        v,
        i,
        poa_global=poa,
        temperature_cell=temperature,
        corrections=corrections,
        inputs=INPUTS,
        procedure=procedure,
    )
    for name in NAMES:
        assert found.standard(name) == pytest.approx(np.std(drawn[name]), rel=0.05), name
