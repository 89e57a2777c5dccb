"""Many sweeps fitted side by side come out as each alone does.

Sweeps as in tests/published/test_findings_on_pvlib_strings: curves that pvlib computes.
"""

import numpy as np
import pytest

from tests.published.test_findings_on_pvlib_strings import (
    GROUPS,
    Truth,
    healthy_groups,
    module_parameters,
)
from viewer.analysis.base_fits import SweepToFit, fit_all_as_predicted
from viewer.analysis.explanations import usual_start
from viewer.analysis.signature_fit import BASE, Prior, free_places
from viewer.analysis.signatures import prepare
from viewer.analysis.string_descent import fit_string
from viewer.physics.single_diode import DiodeParameters


def to_fit(truth: Truth, seed: int) -> SweepToFit:
    v, i = truth.sweep(seed)
    groups = truth.fractions.size
    predicted = DiodeParameters.of(*module_parameters(truth.poa, truth.temperature))
    reference, sweep = prepare(v, i, predicted.in_series(groups / GROUPS), groups)
    return SweepToFit(reference, sweep, usual_start(truth.current_scale), 1.0)


SOUND = Truth(healthy_groups(8), poa=900.0, temperature=55.0, points=60)
DIRTY = Truth(healthy_groups(20), current_scale=0.8, points=150)
CORRODED = Truth(healthy_groups(12), poa=600.0, series=3.0, points=350)


@pytest.mark.parametrize("truth", [SOUND, DIRTY, CORRODED])
def test_as_alone(truth: Truth) -> None:
    one = to_fit(truth, 3)
    (fit,) = fit_all_as_predicted([one], Prior())
    alone = fit_string(one.reference, one.start, 1.0, one.sweep, free_places(BASE, 0), Prior(), 12)
    assert fit.total == pytest.approx(alone.total, rel=2e-3)
    assert fit.vector == pytest.approx(alone.vector, abs=3e-3)
    assert fit.residual.shape == one.sweep.voltage.shape


def test_companions_change_nothing() -> None:
    given = [to_fit(truth, seed) for seed, truth in enumerate((SOUND, DIRTY, CORRODED))]
    together = fit_all_as_predicted(given, Prior())
    for one, fit in zip(given, together, strict=True):
        (alone,) = fit_all_as_predicted([one], Prior())
        np.testing.assert_allclose(fit.vector, alone.vector, rtol=0.0, atol=1e-9)
        np.testing.assert_allclose(fit.residual, alone.residual, rtol=0.0, atol=1e-5)


def test_none_gives_none() -> None:
    assert fit_all_as_predicted([], Prior()) == []
