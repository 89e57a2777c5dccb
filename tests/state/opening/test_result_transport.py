"""What is packed is unpacked as it was."""

import gc

import numpy as np

from viewer.analysis.results.trace_result import Curve
from viewer.state.opening.result_transport import collection_paused, packed, unpacked


def test_curves_and_all_else_return() -> None:
    voltage, current = np.linspace(0.0, 40.0, 7), np.linspace(9.0, 0.0, 7)
    sent = (
        Curve(voltage, current),
        Curve(voltage, -current),
        {"text": "°", "none": None, "nan": float("nan")},
        np.array([[1.0, 2.0]]),
        np.array([True, False]),
        np.array([3, 4], dtype=np.int32),
        np.empty(0),
    )
    first, second, rest, wide, flags, whole, nothing = unpacked(packed(sent))
    assert np.array_equal(first.voltage, voltage)
    assert np.array_equal(first.current, current)
    assert second.voltage is first.voltage
    assert np.array_equal(second.current, -current)
    assert (rest["text"], rest["none"]) == ("°", None)
    assert np.isnan(rest["nan"])
    assert wide.shape == (1, 2)
    assert flags.dtype == bool
    assert whole.dtype == np.int32
    assert nothing.size == 0


def test_a_part_of_a_longer_array_travels_alone() -> None:
    long = np.arange(1e6)
    content = packed(long[10:13])
    assert len(content) < 2000
    assert unpacked(content).tolist() == [10.0, 11.0, 12.0]


def test_nothing_to_send() -> None:
    assert unpacked(packed(())) == ()


def test_collection_is_on_again_afterwards() -> None:
    with collection_paused():
        assert not gc.isenabled()
    assert gc.isenabled()
    gc.disable()
    try:
        with collection_paused():
            assert not gc.isenabled()
        assert not gc.isenabled()
    finally:
        gc.enable()
