import numpy as np

from viewer.state.plot.plot_data import joined, nearest_curve


def test_joined_curves_are_not_connected_to_each_other():
    one, two = (np.arange(3.0), np.ones(3)), (np.arange(2.0), np.zeros(2))
    x, y, connected = joined([one, two])
    assert x.tolist() == [0, 1, 2, 0, 1]
    assert y.tolist() == [1, 1, 1, 0, 0]
    assert connected.tolist() == [True, True, False, True, False]


def test_joining_nothing_gives_nothing():
    assert [len(part) for part in joined([])] == [0, 0, 0]


def test_the_nearest_curve_is_found_in_the_scale_of_the_screen():
    x = np.linspace(0, 10, 50)
    curves = [(x, np.full(50, 1.0)), (x, np.full(50, 2.0)), (np.empty(0), np.empty(0))]
    assert nearest_curve(curves, 5.0, 1.8, 1.0, 1.0) == 1
    assert nearest_curve(curves, 5.0, 1.2, 1.0, 1.0) == 0
    assert nearest_curve([], 0, 0, 1, 1) is None
