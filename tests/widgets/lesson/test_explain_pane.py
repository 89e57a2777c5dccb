from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.invented_results import invented_result
from viewer.analysis.results.trace_result import Curve, UsedConditions
from viewer.physics.cell_string.field_noise import recorded_sweep
from viewer.physics.cell_string.simulate import simulate
from viewer.site_data.lesson_site import lesson_site
from viewer.site_data.scenario_file import scenarios
from viewer.site_data.site_layout import Combiner, StringLayout
from viewer.state.lesson.lesson_strings import string_of
from viewer.state.session import Arrival, Session
from viewer.widgets.controls.empty_words import EmptyWords
from viewer.widgets.controls.job_runner import JobRunner
from viewer.widgets.controls.theme import Look
from viewer.widgets.lesson.lesson_pane import LessonPane

LAYOUT = replace(
    lesson_site(),
    combiners=(
        Combiner("C1", (StringLayout("S1", "LESSON-FC", 20), StringLayout("S2", "LESSON-FC", 20))),
    ),
)


def measured(key, severity, string):
    """A trace with the field's noise of a string with that fault."""
    result = invented_result("C1", string)
    made = simulate(scenarios()[key], severity, 900.0, 50.0, string_of(result, LAYOUT).makeup)
    sweep = recorded_sweep(made, seed=11)
    return replace(
        result,
        measured_curve=Curve(sweep.voltage, sweep.current),
        conditions=UsedConditions(sweep.poa_global, sweep.temperature_cell),
    )


@pytest.fixture
def opened():
    def open_invented(_):
        yield from ()

    session = Session(open_invented)
    session.folder = Path("/invented")
    results = (measured("corroded_connector", 3.0, "S1"), measured("missing_module", 2.0, "S2"))
    session.take([Arrival(layout=LAYOUT, results=results)])
    session.selection.choose([results[0].trace.source])
    return session


@pytest.fixture
def desk(shown, opened):
    made = shown(LessonPane(opened, Look(opened.settings)), 1200, 720)
    made.show_page(made.explain)
    return made


def first_row(pane):
    return [pane.table.item(0, column).text() for column in range(pane.table.columnCount())]


def test_the_best_explanation_is_laid_over_the_points_with_its_severity(desk, opened):
    pane = desk.explain
    pane.start.click()
    assert pane.table.rowCount() == len(scenarios())
    name, how_bad, distance, grade = first_row(pane)
    assert (name, grade) == ("Corroded connector", "best")
    assert "the checks below" in pane.said.text()
    assert "qualified for energised DC work" in pane.looks.text()
    assert float(how_bad.split()[-2]) == pytest.approx(3.0, abs=0.4)
    assert float(distance.split()[0]) < 0.6
    dots = pane.plot._dots.getData()
    assert np.array_equal(dots[1], opened.current.measured_curve.current)
    line = pane.plot._lines[0].getData()
    on_points = np.interp(dots[0], *line)
    assert np.abs(on_points - dots[1])[:60].max() < 0.03 * dots[1].max()
    assert "Corroded connector" in pane.said.text()


def test_before_it_is_pressed_the_table_says_what_will_stand_there(desk):
    words = desk.explain.table.viewport().findChild(EmptyWords)
    assert words.isVisible()
    assert words.text().startswith("Press “What would explain this?”")
    desk.explain.start.click()
    assert not words.isVisible()


def test_how_bad_has_room_and_real_minus_signs(desk):
    pane = desk.explain
    pane.start.click()
    assert pane.table.columnWidth(1) >= pane.table.columnWidth(0) - 1
    told = [pane.table.item(row, 1).text() for row in range(pane.table.rowCount())]
    below = [one for one in told if "−" in one]
    assert below, "a wrong temperature reading would explain this one"
    assert not [one for one in told if " -" in one]


def test_another_string_puts_away_what_was_found(desk, opened):
    pane = desk.explain
    pane.start.click()
    other = next(one for one in opened.results if one.trace.string == "S2")
    opened.selection.choose([other.trace.source])
    assert pane.table.rowCount() == 0
    assert "S2" in pane.said.text()
    pane.start.click()
    assert first_row(pane)[0] == "Missing modules"


def test_a_row_chosen_is_drawn_and_can_be_taken_into_the_lesson(desk):
    pane = desk.explain
    pane.start.click()
    row = next(
        row
        for row in range(pane.table.rowCount())
        if pane.table.item(row, 0).text() == "Missing modules"
    )
    pane.table.selectRow(row)
    assert pane.plot._legend.items[0][1].text == "Missing modules"
    pane.into_lesson.click()
    assert desk.shown_page is desk.explore
    assert desk.lesson.simulated.scenario.key == "missing_module"
    assert desk.explore.string.currentText().startswith("C1 S1")


def test_without_a_string_or_conditions_it_says_why(desk, opened):
    opened.selection.choose([])
    assert not desk.explain.start.isEnabled()
    assert "select a string" in desk.explain.said.text()
    bare = replace(
        invented_result("C1", "S1"),
        conditions=UsedConditions(None, None),
        trace=replace(opened.results[0].trace, source="bare.csv"),
    )
    opened.take([Arrival(results=(bare,))])
    opened.selection.choose(["bare.csv"])
    assert "must be known" in desk.explain.said.text()


def test_it_can_be_cancelled_and_keeps_what_it_has(desk, opened, qtbot):
    runner = JobRunner()
    opened.jobs.runner = runner
    pane = desk.explain
    pane.start.click()
    assert pane.cancel.isEnabled()
    pane.cancel.click()
    qtbot.waitUntil(lambda: opened.jobs.current is None, timeout=20_000)
    assert pane.said.text().endswith("cancelled.")
    assert pane.table.rowCount() < len(scenarios())
    assert runner.finish()


def test_it_runs_beside_the_window(desk, opened, qtbot):
    runner = JobRunner()
    opened.jobs.runner = runner
    desk.explain.start.click()
    assert desk.explain.table.rowCount() == 0
    qtbot.waitUntil(lambda: opened.jobs.current is None, timeout=60_000)
    assert desk.explain.table.rowCount() == len(scenarios())
    assert desk.explain.start.isEnabled()
    assert runner.finish()
