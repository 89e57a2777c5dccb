"""Key points of translated batches: against pvlib's, with noise, with a corner, with nothing."""

import numpy as np
import pvlib
import pytest

from tests.physics.translation.desoto_curves import measured
from viewer.physics.translation.procedures import TranslatedCurve, finished
from viewer.physics.translation.translated_key_points import translated_key_points


def as_translated(v: np.ndarray, i: np.ndarray) -> TranslatedCurve:
    return finished(v, i, np.asarray(1000.0), np.asarray(25.0), "as measured")


@pytest.mark.parametrize("points", [40, 120, 500])
def test_against_pvlib(points: int) -> None:
    """pvlib's singlediode finds the maximum to rounding error."""
    exact = pvlib.pvsystem.singlediode(
        *pvlib.pvsystem.calcparams_desoto(850.0, 48.0, 0.0048, 1.6, 9.5, 1.6e-10, 400.0, 0.3)
    )
    found = translated_key_points(as_translated(*measured(850.0, 48.0, points)))
    for name in ("i_sc", "v_oc", "p_mp"):
        assert float(found[name]) == pytest.approx(float(exact[name]), rel=2e-4), name
    assert float(found["v_mp"]) == pytest.approx(float(exact["v_mp"]), rel=2e-3)


def test_noise_averages_out() -> None:
    v, i = measured(850.0, 48.0, 300)
    true = float(translated_key_points(as_translated(v, i))["p_mp"])
    generator = np.random.default_rng(5)
    noisy = i * (1 + 0.003 * generator.standard_normal((200, i.size)))
    found = translated_key_points(as_translated(np.broadcast_to(v, noisy.shape), noisy))["p_mp"]
    assert np.mean(found) == pytest.approx(true, rel=1e-3)
    assert np.std(found) < 0.001 * true


def test_a_corner_is_not_smoothed_over() -> None:
    """Two straight lines of current: the maximum is the corner at 30 V and 8 A."""
    v = np.linspace(0.0, 40.0, 81)
    i = np.where(v <= 30.0, 8.5 - 0.5 * v / 30.0, 8.0 * (40.0 - v) / 10.0)
    found = translated_key_points(as_translated(v, i))
    assert float(found["p_mp"]) == pytest.approx(240.0)
    assert float(found["v_mp"]) == pytest.approx(30.0)


def test_a_row_without_points_is_nan_and_harms_no_other() -> None:
    v, i = measured(850.0, 48.0, 60)
    rows_v, rows_i = np.stack([v, np.full(60, np.nan)]), np.stack([i, np.full(60, np.nan)])
    found = translated_key_points(finished(rows_v, rows_i, np.ones(2), np.ones(2), ""))
    alone = translated_key_points(as_translated(v, i))
    assert found["p_mp"][0] == pytest.approx(float(alone["p_mp"]))
    assert np.isnan(found["p_mp"][1])
    assert np.isnan(found["fill_factor"][1])


def test_one_curve_of_a_batch_from_end_to_end() -> None:
    v, i = measured(850.0, 48.0, 60)
    batch = finished(np.stack([v, v]), np.stack([i, i]), np.ones(2), np.ones(2), "")
    one_v, one_i = batch.curve(1)
    assert one_v[0] == 0.0
    assert one_i[-1] == 0.0
    assert one_v[-1] == pytest.approx(v[-1])
    assert np.all(np.diff(one_v) > 0.0)


def test_how_a_batch_was_filled_up_does_not_matter() -> None:
    """A few points of a curve that is steep behind its maximum: the point of open circuit
    belongs to the fit, wherever it stands in the row."""
    v = np.linspace(0.0, 40.0, 21)
    i = 8.0 * (1.0 - (v / 40.0) ** 40)
    stop = (np.asarray(1000.0), np.asarray(25.0), "")
    alone = translated_key_points(finished(v[None], i[None], *stop))
    gaps = np.full((2, 2, 200), np.nan)
    for row, places in enumerate((np.r_[0:20, 199], np.r_[0:191:10, 199])):
        gaps[0, row, places], gaps[1, row, places] = v, i
    found = translated_key_points(finished(gaps[0], gaps[1], *stop))
    for name in ("v_mp", "p_mp"):
        assert found[name] == pytest.approx(float(alone[name][0]), rel=1e-12)
