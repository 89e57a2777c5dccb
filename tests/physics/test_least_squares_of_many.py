"""Many small least-squares problems side by side are those of numpy and scipy one by one."""

import numpy as np
import pytest
from scipy.optimize import least_squares

from viewer.physics.least_squares_of_many import curved_answer, linear_answer


def test_linear_answers_are_those_of_numpy() -> None:
    generator = np.random.default_rng(4)
    columns = generator.normal(size=(5, 20, 3))
    columns[1, :, 2] = 2.0 * columns[1, :, 0]  # does not tell the two apart
    columns[2, :, 1] = 0.0
    wanted = generator.normal(size=(5, 20))
    found = linear_answer(columns, wanted)
    for k in range(5):
        alone = np.linalg.lstsq(columns[k], wanted[k], rcond=None)[0]
        assert found[k] == pytest.approx(alone, rel=1e-9, abs=1e-12)


def test_fewer_equations_than_unknowns_give_the_shortest_answer() -> None:
    assert linear_answer(np.array([[[3.0, 4.0]]]), np.array([[25.0]]))[0] == pytest.approx([3, 4])


def test_curved_answers_are_those_of_scipy() -> None:
    """Decays of three heights and rates with scatter, from one start for all."""
    generator = np.random.default_rng(5)
    time = np.linspace(0.0, 2.0, 30)
    truth = np.array([[1.0, 0.5], [2.0, 3.0], [0.3, 1.0]])
    seen = truth[:, :1] * np.exp(-truth[:, 1:] * time) + 0.01 * generator.normal(size=(3, 30))

    def misses_and_slopes(x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        decay = np.exp(-x[:, 1:] * time)
        return x[:, :1] * decay - seen, np.stack([decay, -time * x[:, :1] * decay], axis=-1)

    found = curved_answer(misses_and_slopes, np.ones((3, 2)))
    for k in range(3):
        alone = least_squares(
            lambda x, k=k: x[0] * np.exp(-x[1] * time) - seen[k],
            [1.0, 1.0],
            xtol=1e-14,
            ftol=1e-14,
            gtol=1e-14,
        )
        assert found[k] == pytest.approx(alone.x, rel=1e-7)


def test_a_step_too_far_is_halved() -> None:
    """Newton's whole steps on the arc tangent lead ever further away from a start at 2."""

    def misses_and_slopes(x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return np.arctan(x), 1.0 / (1.0 + x[..., None] ** 2)

    assert curved_answer(misses_and_slopes, np.array([[2.0], [0.1]])) == pytest.approx(
        0.0, abs=1e-9
    )
