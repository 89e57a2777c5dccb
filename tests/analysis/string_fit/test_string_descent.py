"""Fits of reduced strings against scipy's least squares; side by side they end as each alone does.

Sweeps as in tests/published/test_findings_on_pvlib_strings: curves that pvlib computes.
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import least_squares

from tests.published.test_findings_on_pvlib_strings import (
    GROUPS,
    Truth,
    healthy_groups,
    module_parameters,
)
from viewer.analysis.signatures.explanations import usual_start
from viewer.analysis.signatures.signatures import prepare
from viewer.analysis.string_fit.reduced_string import stair_count, stair_place
from viewer.analysis.string_fit.signature_fit import BASE, Fit, Prior, free_places, limits
from viewer.analysis.string_fit.string_curves import Strings, current_of
from viewer.analysis.string_fit.string_descent import OUTLIER, FitAsked
from viewer.analysis.string_fit.taking_turns import answered
from viewer.physics.single_diode import DiodeParameters


def to_fit(truth: Truth, seed: int, *stairs: tuple[float, float]) -> FitAsked:
    """From where sound strings end up, with stairs (share, fraction) if any."""
    v, i = truth.sweep(seed)
    groups = truth.fractions.size
    predicted = DiodeParameters.of(*module_parameters(truth.poa, truth.temperature))
    reference, sweep = prepare(v, i, predicted.in_series(groups / GROUPS), groups)
    start = usual_start(truth.current_scale, len(stairs))
    for k, (share, fraction) in enumerate(stairs):
        start[stair_place(k, 0) : stair_place(k + 1, 0)] = share, fraction, 0.8, 0.0
    return FitAsked(reference, start, 1.0, sweep, free_places(BASE, len(stairs)), Prior(), 20)


def shaded(modules: int, *shades: tuple[int, float]) -> np.ndarray:
    fractions = healthy_groups(modules)
    first = 0
    for groups, fraction in shades:
        fractions[first : first + groups] = fraction
        first += groups
    return fractions


ASKED = {
    "sound": to_fit(Truth(healthy_groups(8), poa=900.0, temperature=55.0, points=60), 3),
    "dirty": to_fit(Truth(healthy_groups(20), current_scale=0.8, points=150), 3),
    "corroded": to_fit(Truth(healthy_groups(12), poa=600.0, series=3.0, points=350), 3),
    "shaded": to_fit(Truth(shaded(12, (6, 0.6)), points=120), 4, (0.2, 0.55)),
    "shaded twice": to_fit(
        Truth(shaded(20, (6, 0.4), (9, 0.7)), points=200), 5, (0.1, 0.45), (0.12, 0.65)
    ),
}


def together(*asked: FitAsked) -> list[Fit]:
    async def fitted(one: FitAsked) -> Fit:
        return await one

    return answered(fitted(one) for one in asked)


def total_of(asked: FitAsked, vector: np.ndarray) -> np.ndarray:
    """Residuals whose squares, beyond OUTLIER in proportion only, are what a fit lowers."""
    sweep, strings = asked.sweep, Strings.of(asked.reference, asked.present)
    noise = np.array([[sweep.noise_voltage]])
    model, slope = current_of(strings, vector[None, :], sweep.voltage[None, :], noise)
    spread = np.sqrt(sweep.noise_current**2 + (slope[0] * sweep.noise_voltage) ** 2)
    size = sweep.weight * np.abs(sweep.current - model[0]) / spread
    squares = np.where(size > OUTLIER, OUTLIER * (2 * size - OUTLIER), size**2)
    centre, width = asked.prior.of(asked.start)
    return np.concatenate((np.sqrt(squares), ((vector - centre) / width)[asked.free]))


@pytest.mark.parametrize("name", ASKED)
def test_no_higher_than_scipy_gets(name: str) -> None:
    asked = ASKED[name]
    (fit,) = together(asked)

    def residuals(free: np.ndarray) -> np.ndarray:
        vector = fit.vector.copy()
        vector[asked.free] = free
        return total_of(asked, vector)

    low, high = (bound[asked.free] for bound in limits(stair_count(asked.start)))
    # a fit carries a stair of no groups along, whose currents make the curve a little finer
    again = float(np.sum(residuals(fit.vector[asked.free]) ** 2))
    assert fit.total == pytest.approx(again, rel=0.01)
    begun = np.clip(fit.vector[asked.free], low + 1e-9, high - 1e-9)
    best = least_squares(residuals, begun, bounds=(low, high), x_scale="jac")
    assert again < 2.0 * best.cost + 0.02 * (again + 60.0)


def test_companions_change_nothing() -> None:
    """To the last bit: longer and shorter sweeps, more and fewer stairs."""
    fits = together(*ASKED.values())
    for asked, fit in zip(ASKED.values(), fits, strict=True):
        (alone,) = together(asked)
        np.testing.assert_array_equal(fit.vector, alone.vector)
        np.testing.assert_array_equal(fit.residual, alone.residual)
        assert fit.vector.size == asked.start.size
        assert fit.residual.shape == asked.sweep.voltage.shape


def test_companions_change_nothing_where_a_fit_fails() -> None:
    """From a start so far off that steps end anywhere."""
    far = []
    for seed in range(40):
        asked = to_fit(Truth(shaded(12, (9, 0.3)), points=60), seed, (0.9, 0.95))
        asked.start[stair_place(0, 0)] = 0.02 * seed
        far.append(asked)
    fits = together(*far)
    assert sum(fit.cost > 500.0 for fit in fits) >= 3
    for asked, fit in zip(far, fits, strict=True):
        np.testing.assert_array_equal(fit.vector, together(asked)[0].vector)


def test_more_than_go_side_by_side() -> None:
    many = [to_fit(Truth(healthy_groups(8), points=40), seed) for seed in range(70)]
    fits = together(*many)
    (last,) = together(many[-1])
    assert len(fits) == 70
    np.testing.assert_array_equal(fits[-1].vector, last.vector)


def test_what_is_not_free_stays() -> None:
    asked = ASKED["shaded"]
    held = FitAsked(
        asked.reference,
        asked.start,
        1.0,
        asked.sweep,
        free_places(BASE, 1, fixed_groups=True),
        Prior(),
        20,
    )
    (fit,) = together(held)
    assert fit.vector[stair_place(0, 0)] == asked.start[stair_place(0, 0)]
    assert fit.jacobian.shape == (held.free.size, asked.sweep.voltage.size)
    assert fit.total >= together(asked)[0].total - 1.0


def test_none_gives_none() -> None:
    assert together() == []


@pytest.mark.parametrize("what", ["current", "voltage", "shunt"])
def test_numbers_that_are_none_are_said_at_once(what: str) -> None:
    asked = ASKED["sound"]
    sweep, reference = asked.sweep, asked.reference
    if what == "shunt":
        reference = replace(reference, forward=np.full_like(reference.forward, np.nan))
    else:
        values = getattr(sweep, what).copy()
        values[20] = np.nan
        sweep = replace(sweep, **{what: values})
    with pytest.raises(ValueError, match="without finite numbers"):
        together(ASKED["dirty"], replace(asked, sweep=sweep, reference=reference))
