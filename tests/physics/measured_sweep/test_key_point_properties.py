"""What must hold for any sweep: units, order and repetition of points change nothing."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.physics.swept_curves import Device, swept
from viewer.physics.measured_sweep.key_points import find_key_points

devices = st.builds(
    lambda i, ratio, a, series, shunt: Device(
        i, i * np.exp(-ratio), series * ratio * a / i, shunt * ratio * a / i, a
    ),
    i=st.floats(0.5, 15.0),
    ratio=st.floats(15.0, 26.0),
    a=st.floats(1.0, 40.0),
    series=st.floats(0.002, 0.08),
    shunt=st.floats(5.0, 200.0),
)
sweeps = st.builds(
    swept,
    device=devices,
    points=st.integers(25, 150),
    noise=st.floats(1e-4, 5e-3),
    seed=st.integers(0, 1000),
)
some = settings(max_examples=40, deadline=None, derandomize=True)


@some
@given(sweep=sweeps, factor=st.floats(0.05, 20.0))
def test_scaling_current_scales_isc_and_leaves_voc(sweep: tuple, factor: float) -> None:
    voltage, current = sweep
    plain = find_key_points(voltage, current).values
    scaled = find_key_points(voltage, factor * current).values
    assert scaled.i_sc == pytest.approx(factor * plain.i_sc, rel=1e-5, nan_ok=True)
    assert scaled.p_mp == pytest.approx(factor * plain.p_mp, rel=1e-5, nan_ok=True)
    assert scaled.v_oc == pytest.approx(plain.v_oc, rel=1e-5, nan_ok=True)


@some
@given(sweep=sweeps, order=st.randoms(use_true_random=False))
def test_order_of_points_does_not_matter(sweep: tuple, order) -> None:
    voltage, current = sweep
    numbers = list(range(voltage.size))
    order.shuffle(numbers)
    assert find_key_points(voltage[numbers], current[numbers]).values == (
        find_key_points(voltage, current).values
    )


@some
@given(sweep=sweeps, number=st.integers(0, 24), times=st.integers(1, 5))
def test_adding_a_duplicate_changes_nothing(sweep: tuple, number: int, times: int) -> None:
    voltage, current = sweep
    more = find_key_points(
        np.concatenate([voltage, np.repeat(voltage[number], times)]),
        np.concatenate([current, np.repeat(current[number], times)]),
    )
    plain = find_key_points(voltage, current)
    assert more.values == plain.values
    assert more.standard_uncertainty == plain.standard_uncertainty


@some
@given(sweep=sweeps)
def test_power_is_that_of_its_point_and_no_more_than_isc_times_voc(sweep: tuple) -> None:
    values = find_key_points(*sweep).values
    assert values.p_mp == pytest.approx(values.i_mp * values.v_mp, rel=1e-9)
    assert values.p_mp < values.i_sc * values.v_oc
    assert values.fill_factor == pytest.approx(values.p_mp / values.i_sc / values.v_oc, rel=1e-9)
