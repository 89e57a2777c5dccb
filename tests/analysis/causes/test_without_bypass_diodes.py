"""Modules without bypass diodes: no diode is shorted, and limited ones are not counted."""

from dataclasses import replace

import pytest

from tests.analysis.causes.made_readings import likelihood, neighbours, one_stair, reading
from tests.analysis.causes.made_visits import READ, SHEET, analysed, traced
from tests.analysis.signatures.strings_of_groups import sweep
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.causes.second_look import beside_neighbours
from viewer.analysis.causes.weaker_modules import whole_modules_share
from viewer.analysis.results.trace_result import TraceResult
from viewer.analysis.signatures.signature_reading import SignatureReading, StairReading
from viewer.analysis.signatures.signature_words import (
    limited_modules,
    low_voltage_beside,
    slope_near_isc,
)
from viewer.analysis.signatures.signatures import SweepToRead, read_signatures
from viewer.analysis.signatures.voltage_reading import VoltageReading
from viewer.physics.measured_sweep.key_points import find_key_points
from viewer.physics.single_diode import DiodeParameters
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
    deep, high = StairReading(1, 0.4, 30.0, 0.9, 200.0), StairReading(1, 0.6, 40.0, 0.9, 100.0)
    step = limited_modules((deep, high), 5000.0)
    assert "to 0.40 of the string's current or more, 70 V wide, which costs 300 W of" in step.text
    assert step.details == {"current_fraction": 0.4, "voltage_span": 70.0, "loss": 300.0}


def test_the_parts_of_such_a_string_are_modules() -> None:
    lost = VoltageReading(0.05, 0.004, 1, 0.0, 1.0, 0.0, 17.0, (1, 1))
    assert "as one module lost would" in low_voltage_beside(40, lost, 90, 900, "module").text
    assert "parallel to two modules would" in slope_near_isc(0.01, 2, 0.1, 40, 900, "module").text


STRING = (9.0, 2e-9, 9.0, 9000.0, 40.0)


def _read(levels: list[float], diodes: int, shunt: float = 9000.0) -> SignatureReading:
    v, i = sweep((*STRING[:3], shunt, STRING[4]), levels, (0.0008, 0.0003), 3)
    points, predicted = find_key_points(v, i).values, DiodeParameters.of(*STRING)
    return read_signatures([SweepToRead(v, i, points, predicted, len(levels), diodes)])[0]


@pytest.mark.parametrize(("diodes", "part"), [(0, "20 modules"), (1, "20 bypass groups")])
def test_a_leak_is_of_the_strings_parts(diodes: int, part: str) -> None:
    (leak,) = _read([1.0] * 20, diodes, shunt=900.0).signatures
    assert f"parallel to {part} would" in leak.text


@pytest.mark.parametrize(("diodes", "counted"), [(0, False), (1, True)])
def test_weaker_modules_are_counted_by_their_diodes_alone(diodes: int, counted: bool) -> None:
    (knee,) = _read([0.965] * 8 + [1.0] * 12, diodes).signatures
    assert knee.kind == "rounded_knee"
    assert ("8 modules carry" in knee.text) is counted


def test_what_needs_a_count_says_nothing_of_causes() -> None:
    six = one_stair(6, 0.9, 0.85)
    bare = replace(six, bypassed=False, bypass_diodes=1)
    assert whole_modules_share(six) > 0.5 > whole_modules_share(bare) == 0.0
    deep = replace(one_stair(6), bypassed=False)
    assert likelihood(rank_causes(one_stair(6)), "shading") > 0.8
    assert likelihood(rank_causes(deep), "shading") < 0.6
    assert likelihood(rank_causes(deep), "module_mismatch") == 0.0


def test_a_module_lost_only_beside_the_neighbours_is_one() -> None:
    own = replace(neighbours(), own_voltage=-0.05, own_voltage_spreads=-12.5, own_current=0.0)
    bare = reading(bypass_groups=20, bypass_diodes=1, bypassed=False, predicted_v_oc=800.0)
    (lost,) = beside_neighbours(bare, own, -0.003).signatures
    assert "other strings, as one module lost would take" in lost.text
