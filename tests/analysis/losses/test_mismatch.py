"""Strings in parallel: the combiner's curve and what repairs bring."""

from dataclasses import replace

import numpy as np
import pvlib
import pytest

from tests.analysis.made_results import made_result
from viewer.analysis.losses.mismatch import StringCurve, combiner_mismatch, current_on, curves_of
from viewer.analysis.results.trace_result import Curve

PARAMETERS = (8.6, 4e-9, 7.0, 6000.0, 31.5)


def string_curve(current_scale: float = 1.0, modules_lost: int = 0) -> Curve:
    """A string of 20 modules by pvlib."""
    il, i0, rs, rsh, a = PARAMETERS
    share = (20 - modules_lost) / 20
    p = (il * current_scale, i0, rs * share, rsh * share, a * share)
    v_oc = float(pvlib.pvsystem.singlediode(*p)["v_oc"])
    voltage = np.linspace(0.0, v_oc, 250)
    return Curve(voltage, pvlib.pvsystem.i_from_v(voltage, *p, method="lambertw"))


def p_mp(curve: Curve) -> float:
    return float(np.max(curve.voltage * curve.current))


def test_equal_strings_lose_nothing() -> None:
    group = combiner_mismatch([StringCurve(f"S{k}", string_curve()) for k in range(6)])
    expected = 6 * float(pvlib.pvsystem.singlediode(*PARAMETERS)["p_mp"])
    assert group.p_mp == pytest.approx(expected, rel=2e-4)
    assert group.loss_fraction == pytest.approx(0.0, abs=1e-6)
    assert group.gain_of_worst[-1] == pytest.approx(0.0, abs=1e-6)


def test_a_string_short_of_modules_pulls_the_combiner() -> None:
    """Maximum of the summed currents by pvlib on a fine grid."""
    curves = [string_curve() for _ in range(5)] + [string_curve(modules_lost=3)]
    group = combiner_mismatch([StringCurve(f"S{k}", c) for k, c in enumerate(curves)])
    il, i0, rs, rsh, a = PARAMETERS
    grid = np.linspace(0, 760, 20001)
    total = 5 * pvlib.pvsystem.i_from_v(grid, *PARAMETERS, method="lambertw")
    share = 17 / 20
    total = total + pvlib.pvsystem.i_from_v(
        grid, il, i0, rs * share, rsh * share, a * share, method="lambertw"
    )
    assert group.p_mp == pytest.approx(float(np.max(grid * total)), rel=1e-3)
    assert group.loss > 0
    assert group.sum_of_maxima == pytest.approx(sum(p_mp(c) for c in curves), rel=1e-3)
    worst = min(group.shares, key=lambda s: s.at_common_voltage)
    assert worst.string == "S5"
    assert worst.mismatch > 0


def test_repairing_the_worst_brings_most() -> None:
    sound = string_curve()
    scales = [1.0, 0.7, 1.0, 0.9, 1.0]
    strings = [StringCurve(f"S{k}", string_curve(s), sound) for k, s in enumerate(scales)]
    group = combiner_mismatch(strings)
    assert group.worst_first[:2] == ("S1", "S3")
    assert group.gain_of_worst[0] == 0.0
    assert list(group.gain_of_worst) == sorted(group.gain_of_worst)
    assert group.p_mp + group.gain_of_worst[-1] == pytest.approx(5 * p_mp(sound), rel=1e-3)
    assert group.expected_from == "each string's prediction at these conditions"


def test_without_predictions_the_middle_string_is_the_model() -> None:
    strings = [StringCurve(f"S{k}", string_curve(s)) for k, s in enumerate([1.0, 0.99, 0.6])]
    group = combiner_mismatch(strings)
    assert group.expected_from.endswith("the middle one by power, where nothing is predicted")
    mixed = combiner_mismatch([replace(strings[0], expected=string_curve()), *strings[1:]])
    assert mixed.expected_from == f"each string's prediction, or {group.expected_from}"
    assert group.worst_first[0] == "S2"


def test_beyond_open_circuit_a_string_takes_current() -> None:
    curve = string_curve()
    beyond = current_on(np.array([curve.voltage[-1] + 5.0]), curve)
    assert beyond[0] < 0


def test_no_strings() -> None:
    with pytest.raises(ValueError, match="no curve"):
        combiner_mismatch([])


def test_curves_of_results_are_translated_where_more_than_half_are() -> None:
    """One string without irradiance once mixed all strings as measured, 85 with 1005 W/m²."""
    made = [
        replace(made_result("C1", f"S{k}"), translated_curve=string_curve(scale))
        for k, scale in enumerate([1.0, 0.98, 0.7])
    ]
    curves, which = curves_of(made)
    assert "standard test conditions" in which
    assert combiner_mismatch(curves).worst_first[0] == "S2"
    most, which = curves_of([*made, made_result("C1", "S9")])
    assert [one.string for one in most] == ["S0", "S1", "S2"]
    assert which.endswith("conditions; without S9, whose curve could not be translated")
    _, which = curves_of([made[0], made_result("C1", "S9")])
    assert "as measured" in which
