import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tests.invented_results import invented_curve
from viewer.state.plot_data import joined, nearest_curve, simplified


def test_joined_curves_are_not_connected_to_each_other():
    one, two = (np.arange(3.0), np.ones(3)), (np.arange(2.0), np.zeros(2))
    x, y, connected = joined([one, two])
    assert x.tolist() == [0, 1, 2, 0, 1]
    assert y.tolist() == [1, 1, 1, 0, 0]
    assert connected.tolist() == [True, True, False, True, False]


def test_joining_nothing_gives_nothing():
    assert [len(part) for part in joined([])] == [0, 0, 0]


@given(st.floats(0.0005, 0.02), st.floats(0.0, 0.5))
def test_a_simplified_curve_stays_within_its_steps(step, loss):
    curve = invented_curve(9.0 * (1 - loss))
    x, y = curve.voltage, curve.current
    x_step, y_step = step * x[-1], step * y[0]
    fewer_x, fewer_y = simplified(x, y, x_step, y_step)
    off = np.abs(np.interp(x, fewer_x, fewer_y) - y) / y_step
    slope = np.abs(np.interp(x, fewer_x, np.gradient(fewer_y, fewer_x))) * x_step / y_step
    assert (off <= np.hypot(1.0, slope) * 1.5 + 1e-9).all()
    assert len(fewer_x) < len(x)
    assert fewer_x[0] == x[0]
    assert fewer_x[-1] == x[-1]


def test_the_nearest_curve_is_found_in_the_scale_of_the_screen():
    x = np.linspace(0, 10, 50)
    curves = [(x, np.full(50, 1.0)), (x, np.full(50, 2.0)), (np.empty(0), np.empty(0))]
    assert nearest_curve(curves, 5.0, 1.8, 1.0, 1.0) == 1
    assert nearest_curve(curves, 5.0, 1.2, 1.0, 1.0) == 0
    assert nearest_curve([], 0, 0, 1, 1) is None
