"""The range of numbers that a count is told with."""

from viewer.analysis.signatures.likely_counts import likely_counts


def test_a_certain_number_stands_alone() -> None:
    assert likely_counts({1: 0.01, 2: 0.97, 3: 0.02}, 2) == (2, 2)


def test_the_likelier_neighbour_comes_first() -> None:
    assert likely_counts({1: 0.05, 2: 0.6, 3: 0.35}, 2) == (2, 3)
    assert likely_counts({1: 0.35, 2: 0.6, 3: 0.05}, 2) == (1, 2)


def test_it_grows_until_enough_is_held() -> None:
    assert likely_counts({4: 0.3, 5: 0.3, 6: 0.3, 7: 0.1}, 5) == (4, 7)


def test_weights_need_not_add_up_to_one() -> None:
    assert likely_counts({2: 30.0, 3: 10.0, 4: 1e-3}, 2) == (2, 3)


def test_a_number_that_nothing_speaks_for_is_in_its_range() -> None:
    assert likely_counts({7: 1.0, 8: 0.2}, 9) == (7, 9)


def test_without_any_weight_the_number_stands() -> None:
    assert likely_counts({}, 3) == (3, 3)
