"""The safeguarded Newton iteration and the linear-plus-exponential root."""

import numpy as np
import pytest

from viewer.physics.root_finding import falling_root, linear_plus_exponential_root


def cosine_less_x(x):
    return np.cos(x) - x, -np.sin(x) - 1.0


def test_many_roots_at_once():
    """cos x = x at 0.739085133215161 (the Dottie number), whatever the start."""
    starts = np.linspace(0.0, 1.5, 50)
    roots = falling_root(cosine_less_x, np.zeros(50), np.full(50, 1.5), starts)
    np.testing.assert_allclose(roots, 0.739085133215161, rtol=1e-14)


def test_a_step_out_of_the_bracket_is_halved():
    """Newton alone runs away from atan's root when it starts this far out."""

    def falling(x):
        return -np.arctan(x), -1.0 / (1.0 + x * x)

    root = falling_root(falling, np.array(-30.0), np.array(40.0), np.array(35.0))
    assert float(root) == pytest.approx(0.0, abs=1e-12)


def test_without_a_change_of_sign_the_nearer_end_is_given():
    low, high = np.array([0.0, 1.0]), np.array([0.5, 1.5])
    ends = falling_root(cosine_less_x, low, high, 0.5 * (low + high))
    np.testing.assert_allclose(ends, [0.5, 1.0], atol=1e-12)


def test_unknown_stays_unknown():
    def scaled(x):
        return np.array([1.0, np.nan]) - x, np.full(2, -1.0)

    roots = falling_root(scaled, np.zeros(2), np.full(2, 2.0), np.full(2, 0.3))
    assert roots[0] == 1.0
    assert np.isnan(roots[1])


@pytest.mark.parametrize("log_factor", [-400.0, -30.0, 0.0, 5.0])
def test_linear_plus_exponential(log_factor):
    y = np.array([-300.0, -3.0, 0.0, 2.0, 25.0])
    target = y + np.exp(y + log_factor)
    found = linear_plus_exponential_root(target, np.array(log_factor))
    np.testing.assert_allclose(found, y, rtol=1e-12, atol=1e-12)


def test_linear_plus_exponential_without_the_exponential():
    found = linear_plus_exponential_root(np.array([-2.0, 7.0]), np.array(-np.inf))
    np.testing.assert_array_equal(found, [-2.0, 7.0])
