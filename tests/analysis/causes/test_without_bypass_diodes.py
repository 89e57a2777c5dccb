"""Modules without bypass diodes: no diode is shorted, and limited ones are not counted."""

from dataclasses import replace

import pytest

from tests.analysis.causes.made_visits import READ, SHEET, analysed, traced
from viewer.analysis.results.trace_result import TraceResult
from viewer.analysis.signatures.signature_words import (
    limited_modules,
    low_voltage_beside,
    slope_near_isc,
)
from viewer.analysis.signatures.voltage_reading import VoltageReading
from viewer.site_data.iv_trace import MeasuredConditions
from viewer.state.plot.highlight import highlights_of

BARE = replace(SHEET, bypass_diodes=0)


def _said(result: TraceResult) -> str:
    causes = " ".join(one.evidence + one.against for one in result.candidate_causes)
    return causes + " ".join(one.text for one in result.signatures)


def test_a_module_that_is_missing_is_no_shorted_diode() -> None:
    (bare,) = analysed(traced("S1", lost_groups=3), sheet=BARE)
    (usual,) = analysed(traced("S1", lost_groups=3))
    assert "as one module lost would take; it costs" in bare.signatures[0].text
    assert "bypass" not in _said(bare)
    assert [one.cause for one in bare.candidate_causes] == ["module_missing"]
    assert "bypass_short" in [one.cause for one in usual.candidate_causes]


@pytest.mark.parametrize("read", [READ, MeasuredConditions()])
def test_limited_modules_are_not_counted(read: MeasuredConditions) -> None:
    (bare,) = analysed(traced("S1", limited=0.4, limited_groups=3, read=read), sheet=BARE)
    (step,) = bare.signatures
    assert step.text.startswith("Modules are limited to 0.4")
    assert step.text.endswith("how many cannot be told without bypass diodes.")
    assert "bypass_groups" not in step.details
    assert {one.cause for one in bare.candidate_causes} == {"shading", "cell_fault"}
    (shown,) = highlights_of(bare, bare.signatures)
    assert shown.words.startswith("Modules at ")


def test_several_steps_are_one_of_modules() -> None:
    step = limited_modules([(0.4, 30.0, 200.0), (0.6, 40.0, 100.0)], 5000.0)
    assert "to 0.40 of the string's current or more, 70 V wide, which costs 300 W of" in step.text
    assert step.details == {"current_fraction": 0.4, "voltage_span": 70.0, "loss": 300.0}


def test_the_parts_of_such_a_string_are_modules() -> None:
    lost = VoltageReading(0.05, 0.004, 1, 0.0, 1.0, 0.0, 17.0, (1, 1))
    assert "as one module lost would" in low_voltage_beside(40, lost, 1, 90, 900, "module").text
    assert "parallel to two modules would" in slope_near_isc(0.01, 2, 0.1, 40, 900, "module").text
