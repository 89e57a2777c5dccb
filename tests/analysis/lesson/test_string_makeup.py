from dataclasses import replace

import numpy as np
import pytest

from viewer.analysis.lesson.string_makeup import curve_of_one_string, makeup_of
from viewer.analysis.results.trace_result import Curve, TraceResult, UsedConditions
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.site_data.iv_trace import Trace
from viewer.site_data.lesson_site import lesson_site
from viewer.site_data.site_layout import StringLayout

SHEET = lesson_site().modules["LESSON-HC"]
NAN = float("nan")


def result(**conditions):
    voltage, current = np.linspace(0, 900, 8), np.linspace(20, 0, 8)
    return TraceResult(
        Trace("x.csv", voltage, current),
        KeyPoints(NAN, NAN, NAN, NAN, NAN, NAN),
        Curve(voltage, current),
        UsedConditions(**conditions),
    )


def test_a_makeup_follows_the_datasheet():
    makeup = makeup_of(SHEET, 24, 0.4)
    assert makeup.wiring.shape == (3, 2, 24)
    assert float(makeup.model.operating(1000.0, 25.0).photocurrent) == pytest.approx(13.8, rel=0.01)


def test_a_datasheet_that_cannot_be_used_is_refused_in_words():
    with pytest.raises(ValueError, match="do not divide into 5"):
        makeup_of(replace(SHEET, bypass_diodes=5), 24)
    with pytest.raises(ValueError, match=r"\w+ \w+"):
        makeup_of(replace(SHEET, i_mp=15.0), 24)
    with pytest.raises(ValueError, match="at least one module"):
        makeup_of(SHEET, 0)


def test_a_harness_is_shared_by_its_strings():
    curve = curve_of_one_string(
        result(poa_global=900.0, temperature_cell=50.0), StringLayout("s", "m", 20, 2)
    )
    assert curve.current[0] == 10.0
    assert curve.poa_global == 900.0


def test_the_rear_counts_where_it_was_taken_into_account():
    curve = curve_of_one_string(
        result(poa_global=900.0, effective_irradiance=960.0, temperature_cell=50.0),
        StringLayout("s", "m", 20),
    )
    assert curve.poa_global == 960.0


def test_unknown_conditions_are_told_in_words():
    with pytest.raises(ValueError, match="irradiance and cell temperature"):
        curve_of_one_string(
            result(poa_global=900.0, temperature_cell=None), StringLayout("s", "m", 2)
        )
