"""What vectors with stairs amount to, by hand."""

import numpy as np
import pytest

from tests.analysis.signatures.made_problems import GROUPS, with_stairs
from viewer.analysis.signatures.stair_vectors import (
    drop_small,
    level_spread,
    looks_like_mismatch,
    may_be_leaks,
    plateau,
    put_together,
    without_stair,
)
from viewer.analysis.string_fit.reduced_string import (
    CURRENT,
    FRACTION,
    STRING_PARAMETERS,
    stairs_of,
)


def test_near_stairs_become_one_of_all_their_groups() -> None:
    vector = with_stairs((9, 0.52, 1.0, 0.04), (6, 0.8, 0.9, 0.0), (3, 0.5, 0.2, 0.0))
    together = put_together(vector)
    expected = [[12 / GROUPS, 0.515, 0.8, 0.03], [6 / GROUPS, 0.8, 0.9, 0.0]]
    np.testing.assert_allclose(stairs_of(together), expected)
    np.testing.assert_array_equal(together[:STRING_PARAMETERS], vector[:STRING_PARAMETERS])


def test_a_third_is_held_against_the_two_that_are_one() -> None:
    vector = with_stairs((3, 0.50, 1.0, 0.0), (3, 0.53, 1.0, 0.0), (3, 0.56, 1.0, 0.0))
    assert stairs_of(put_together(vector))[:, FRACTION] == pytest.approx([0.515, 0.56])


def test_stairs_apart_stay_in_their_order() -> None:
    vector = with_stairs((3, 0.54, 1.0, 0.0), (3, 0.50, 1.0, 0.0))
    np.testing.assert_array_equal(put_together(vector), vector)
    assert stairs_of(put_together(vector, within=0.05)).shape == (1, 4)


def test_small_stairs_and_those_at_full_current_are_dropped() -> None:
    small, kept = (0.4, 0.3, 1.0, 0.0), (0.5, 0.4, 0.5, 0.01)
    full, nearly_full = (5, 0.985, 1.0, 0.0), (5, 0.98, 1.0, 0.0)
    left = drop_small(with_stairs(small, kept, full, nearly_full), 0.45 / GROUPS)
    np.testing.assert_array_equal(left, with_stairs(kept, nearly_full))
    np.testing.assert_array_equal(drop_small(left, 0.45 / GROUPS), left)


def test_one_stair_is_left_out() -> None:
    first, second, third = (1, 0.2, 1.0, 0.0), (2, 0.4, 0.9, 0.1), (3, 0.6, 0.8, 0.2)
    left = without_stair(with_stairs(first, second, third), 1)
    np.testing.assert_array_equal(left, with_stairs(first, third))


@pytest.mark.parametrize(
    ("cells", "leak", "lost"),
    [
        (1.0, 0.04, 0.04 * 0.5 * 0.85),
        (0.75, 0.03, 0.03 * (1.0 / 3.0) * 0.85),
        (0.5, 0.1, 0.0),
        (0.05, 0.1, 0.0),
        (1.0, -0.1, 0.0),
    ],
)
def test_a_plateau_is_what_the_limited_cells_let_through(
    cells: float, leak: float, lost: float
) -> None:
    vector = with_stairs((3, 0.8, 1.0, 0.3), (3, 0.6, cells, leak))
    vector[CURRENT] = 0.9
    assert plateau(vector, 1) == pytest.approx(0.6 - lost / 0.9)


def test_a_plateau_is_never_below_nothing() -> None:
    assert plateau(with_stairs((3, 0.1, 1.0, 2.0)), 0) == 0.0


@pytest.mark.parametrize(
    ("stair", "may"),
    [
        ((3, 0.6, 1.0, 0.0), False),
        ((3, 0.6, 0.9, 0.0), True),
        ((3, 0.25, 0.5, 0.0), False),
        ((3, 0.95, 1.0, 0.05), True),
        ((3, 0.95, 1.0, 0.03), False),
        ((3, 0.85, 1.0, 0.05), False),
    ],
)
def test_only_tilted_stairs_may_be_leaks(stair: tuple, may: bool) -> None:
    plain = (3, 0.5, 1.0, 0.0)
    assert may_be_leaks(with_stairs(plain, stair)) is may


@pytest.mark.parametrize(
    ("stairs", "unequal"),
    [
        ([], False),
        # two levels of a third of the string and more
        ([(7, 0.80), (7, 0.84)], True),
        ([(5, 0.80), (5, 0.84)], False),
        # a single level: little below the rest, or of most of the string
        ([(14, 0.88)], True),
        ([(14, 0.84)], False),
        ([(20, 0.84)], True),
        # beside a deep stair they are groups like any
        ([(7, 0.80), (7, 0.84), (1, 0.5)], False),
        ([(7, 0.80), (7, 0.84), (0.5, 0.5)], True),
        # graded levels of most of the string, however deep the first
        ([(8, 0.70), (8, 0.78), (8, 0.84)], True),
        ([(8, 0.66), (8, 0.78), (8, 0.84)], False),
        # most of the string a little below the rest: by how much tells
        ([(20, 0.97)], True),
        ([(20, 0.98)], False),
        ([(11, 0.97)], False),
    ],
)
def test_many_groups_a_little_below_the_rest_are_unequal_modules(
    stairs: list[tuple[float, float]], unequal: bool
) -> None:
    vector = with_stairs(*((groups, level, 1.0, 0.0) for groups, level in stairs))
    assert looks_like_mismatch(vector, GROUPS) is unequal


def test_few_groups_are_never_told_as_unequal() -> None:
    vector = with_stairs((7, 0.80, 1.0, 0.0), (7, 0.84, 1.0, 0.0))
    assert looks_like_mismatch(vector, 9)
    assert not looks_like_mismatch(vector, 8)


def test_spread_of_all_groups_over_their_own_mean() -> None:
    half = with_stairs((18, 0.9, 1.0, 0.0))
    assert level_spread(half) == pytest.approx(0.05 / 0.95)
    of_three_quarters = level_spread(half, present=0.75)
    levels = np.repeat([0.9, 1.0], [18, 9])
    assert of_three_quarters == pytest.approx(np.std(levels) / np.mean(levels))
    assert level_spread(half, present=0.4) == 0.0
