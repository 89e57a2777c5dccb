"""Whole numbers of groups from a fit's shares; pvlib makes the curves."""

import numpy as np
import pytest

from tests.analysis.signatures.made_problems import GROUPS, found, problem, with_stairs
from viewer.analysis.signatures import whole_groups as module
from viewer.analysis.signatures.sweep_problem import Problem
from viewer.analysis.signatures.whole_groups import LikelyGroups, whole_groups
from viewer.analysis.string_fit.reduced_string import GROUPS as SHARE
from viewer.analysis.string_fit.reduced_string import SERIES, SHIFT, stair_place, stairs_of
from viewer.analysis.string_fit.signature_fit import BASE, Fit, free_places

Starts = tuple[np.ndarray, np.ndarray]
THREE = [0.5] * 3 + [1.0] * 33


def fitted(made: Problem, *stairs: tuple[float, float]) -> Fit:
    start = with_stairs(*((groups, level, 0.9, 0.006) for groups, level in stairs))
    return found(made.fit(start, 1.0, free_places(BASE, len(stairs)), 20))


def numbers(fit: Fit) -> list[float]:
    return (stairs_of(fit.vector)[:, SHARE] * GROUPS).tolist()


def test_they_are_whole_and_those_of_the_string() -> None:
    made = problem([0.4] * 2 + [0.7] * 5 + [1.0] * 29)
    fit, likely = found(whole_groups(made, fitted(made, (4.6, 0.68), (2.4, 0.42))))
    assert numbers(fit) == pytest.approx([5, 2])
    # in the order of the stairs
    assert likely == ((5, 5), (2, 2))


def test_the_noisier_the_sweep_the_more_often_a_range_is_told() -> None:
    """Without noise none, with much mostly, and two numbers rather than three."""
    told_with_a_range = []
    for noise in (0.002, 0.02):
        ranges = []
        for seed in range(12):
            made = problem([0.6] * 17 + [1.0] * 19, noise=noise, seed=seed)
            fit, ((fewest, most),) = found(whole_groups(made, fitted(made, (17, 0.6))))
            (told,) = numbers(fit)
            assert fewest <= round(told) <= most <= fewest + 2
            assert fewest <= 17 <= most
            ranges.append(most - fewest)
        told_with_a_range.append(np.count_nonzero(ranges))
        assert sum(ranges) <= 1.2 * len(ranges)
    assert told_with_a_range[0] == 0
    assert told_with_a_range[1] >= 8


def with_starts(
    monkeypatch: pytest.MonkeyPatch, groups: float, **moved: float
) -> tuple[Fit, LikelyGroups, Fit, Problem]:
    """What becomes of a stair of three where the curvature asks for one start alone."""
    made = problem(THREE)
    free = fitted(made, (3.1, 0.5))

    def starts(_: Problem, fit: Fit) -> Starts:
        vector = fit.vector.copy()
        vector[stair_place(0, SHARE)] = groups / GROUPS
        vector[SHIFT] += moved.get("shift", 0.0)
        vector[SERIES] += moved.get("series", 0.0)
        return vector[None, :], np.zeros(1)

    monkeypatch.setattr(module, "_likely_starts", starts)
    fit, likely = found(whole_groups(made, free))
    return fit, likely, free, made


def test_the_nearest_number_is_tried_whatever_the_curvature_says(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    fit, likely, _, _ = with_starts(monkeypatch, 5)
    assert numbers(fit) == pytest.approx([3])
    (range_told,) = likely
    assert range_told == (3, 5)


def test_a_start_that_leads_astray_is_begun_once_more(monkeypatch: pytest.MonkeyPatch) -> None:
    fit, _, free, made = with_starts(monkeypatch, 3, shift=0.45, series=1.2)
    assert numbers(fit) == pytest.approx([3])
    assert fit.total < free.total + 8.0 * made.unit(free)


def test_a_stair_of_next_to_nothing_is_one_group() -> None:
    """Whether there is a stair is decided elsewhere."""
    made = problem([1.0] * GROUPS)
    fit, _ = found(whole_groups(made, fitted(made, (0.3, 0.5))))
    assert numbers(fit) == pytest.approx([1])


def test_groups_that_are_lost_beside_a_deep_stair_are_weighed_with_it() -> None:
    """One lost and three that carry little are not four that do."""
    for seed in range(6):
        made = problem([0.05] * 3 + [1.0] * 32, noise=0.004, seed=seed)
        fit, ((fewest, most),) = found(whole_groups(made, fitted(made, (3, 0.05))))
        assert numbers(fit) == pytest.approx([3])
        assert (fewest, most) in {(3, 3), (3, 4)}
        assert made.usual.lost(fit.vector, fit.present) * GROUPS == pytest.approx(1, abs=0.3)
