from dataclasses import replace

import numpy as np
import pytest

from tests.invented_results import invented_result
from viewer.analysis.results.trace_result import Curve, UsedConditions
from viewer.physics.cell_string.field_noise import recorded_sweep
from viewer.physics.cell_string.severity_fit import fit_severity
from viewer.physics.cell_string.simulate import simulate
from viewer.site_data.lesson_site import lesson_site
from viewer.site_data.scenario_file import scenarios
from viewer.site_data.site_layout import Combiner, StringLayout
from viewer.state.lesson.explanation import Explained, explain_steps, subject_of
from viewer.state.lesson.lesson_strings import string_of
from viewer.state.program.jobs import Job, Jobs

LAYOUT = replace(
    lesson_site(), combiners=(Combiner("C1", (StringLayout("S1", "LESSON-FC", 20, 2),)),)
)


@pytest.fixture
def result():
    """Two strings in one harness, each with two bypass diodes that are short circuits."""
    string = string_of(invented_result(), LAYOUT)
    made = simulate(scenarios()["shorted_bypass"], 2.0, 900.0, 50.0, string.makeup)
    sweep = recorded_sweep(made, seed=3)
    return replace(
        invented_result(),
        measured_curve=Curve(sweep.voltage, 2 * sweep.current),
        conditions=UsedConditions(sweep.poa_global, sweep.temperature_cell),
    )


def explained(subject):
    found = []
    job = Job("Explain", lambda: explain_steps(subject, scenarios()), found.extend)
    Jobs().start(job)
    assert job.outcome.value.kind == "done"
    return Explained(subject).with_more(found)


def test_the_fault_behind_a_curve_is_found_with_its_severity(result):
    said = explained(subject_of(result, LAYOUT))
    assert len(said.fits) == len(scenarios())
    assert said.fits[0].scenario.key == "shorted_bypass"
    assert said.fits[0].severity == 2.0
    assert said.grade(said.fits[0]) == "best"
    assert said.grade(said.fits[-1]) == "much worse"
    assert said.summary().startswith(scenarios()["shorted_bypass"].name)


def test_a_curve_that_nothing_explains_is_said_to_be_one(result):
    lost = np.linspace(1.0, 0.4, len(result.measured_curve.current)) ** 2
    odd = replace(
        result,
        measured_curve=Curve(result.measured_curve.voltage, result.measured_curve.current * lost),
    )
    said = explained(subject_of(odd, LAYOUT))
    assert said.summary().startswith("No single scenario explains this curve well")


def test_shade_and_dead_cells_are_rivals_by_the_curve_alone():
    string = string_of(invented_result(), LAYOUT)
    sim = simulate(scenarios()["dead_cell"], 50.0, 900.0, 50.0, string.makeup)
    measured = replace(
        invented_result(),
        measured_curve=Curve(sim.voltage, 2 * sim.current),
        conditions=UsedConditions(900.0, 50.0),
    )
    subject = subject_of(measured, LAYOUT)
    fits = [
        fit_severity(scenarios()[key], subject.measured, string.makeup)
        for key in ("dead_cell", "hard_shade", "missing_module")
    ]
    said = Explained(subject).with_more(fits)
    assert "cannot tell it from" in said.summary()


@pytest.mark.parametrize(
    ("layout", "change", "words"),
    [
        (LAYOUT, {"conditions": UsedConditions(None, 40.0)}, "irradiance"),
        (replace(LAYOUT, combiners=()), {}, "does not list string S1"),
        (replace(LAYOUT, modules={}), {}, "has no datasheet"),
    ],
)
def test_what_is_missing_is_said(result, layout, change, words):
    with pytest.raises(ValueError, match=words):
        subject_of(replace(result, **change), layout)


def test_without_a_selected_string_it_says_what_to_do():
    with pytest.raises(ValueError, match="select a string"):
        subject_of(None, LAYOUT)
