"""Dense sweeps as fewer points: nothing is left out, and a fit finds the same."""

import numpy as np
import pytest

from tests.analysis.string_fit.test_string_descent import to_fit, together
from tests.published.test_findings_on_pvlib_strings import Truth, healthy_groups
from viewer.analysis.string_fit.reduced_string import CURRENT, SHIFT
from viewer.analysis.string_fit.thinned_sweep import MOST_POINTS, thinned


def sweep(points: int, noise: float = 0.002) -> tuple[np.ndarray, np.ndarray]:
    v, i = Truth(healthy_groups(10), points=points, noise=noise).sweep()
    return v / v[-1], i / i.max()


@pytest.mark.parametrize("points", [113, 200, 500, 5000])
def test_every_reading_counts_once(points: int) -> None:
    v, i = sweep(points)
    thin = thinned(v, i, 0.001, 0.002)
    assert thin.voltage.size <= MOST_POINTS
    count = thin.weight**2
    assert count.sum() == pytest.approx(points)
    assert count @ thin.voltage == pytest.approx(v.sum())
    assert count @ thin.current == pytest.approx(i.sum())
    assert (np.diff(thin.voltage) > 0).all()


def test_a_short_sweep_stays_as_it_is() -> None:
    v, i = sweep(MOST_POINTS)
    thin = thinned(v, i, 0.001, 0.002)
    assert (thin.voltage == v).all()
    assert (thin.current == i).all()
    assert (thin.weight == 1.0).all()


def test_a_sweep_whose_current_never_falls() -> None:
    v = np.linspace(0.0, 1.0, 300)
    thin = thinned(v, 1.0 + v, 0.001, 0.002)
    assert 1 <= thin.voltage.size <= MOST_POINTS
    assert (thin.weight**2).sum() == pytest.approx(300)


@pytest.mark.parametrize("points", [150, 300, 3000])
def test_points_lie_on_the_curve_where_it_bends_too(points: int) -> None:
    v, i = sweep(points, noise=0.0)
    fine_v, fine_i = sweep(20_000, noise=0.0)
    thin = thinned(v, i, 0.001, 0.002)
    assert np.interp(thin.voltage, fine_v, fine_i) == pytest.approx(thin.current, abs=0.0004)


def test_a_fit_finds_what_it_finds_in_all_points(monkeypatch: pytest.MonkeyPatch) -> None:
    truth = Truth(healthy_groups(12), current_scale=0.93, points=400)
    thin = [to_fit(truth, seed) for seed in range(8)]
    monkeypatch.setattr("viewer.analysis.string_fit.thinned_sweep.MOST_POINTS", 1000)
    whole = [to_fit(truth, seed) for seed in range(8)]
    for few, all_points in zip(together(*thin), together(*whole), strict=True):
        for place in (CURRENT, SHIFT):
            off = few.vector[place] - all_points.vector[place]
            assert abs(off) < all_points.uncertainty(place)
