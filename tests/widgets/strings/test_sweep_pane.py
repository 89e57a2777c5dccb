"""The pane that shows what one sweep tells by itself."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from viewer.physics.single_diode import DiodeParameters, curve
from viewer.site_data.resource_folder import example_folder
from viewer.state.program.jobs import Job, Jobs, run_here
from viewer.state.session import Arrival, Session
from viewer.state.strings.sweep_reading import SweepFits, parameter_lines
from viewer.state.visit_opening import open_site
from viewer.widgets.controls.theme import Look
from viewer.widgets.strings.sweep_pane import SweepPane


@pytest.fixture
def session(qtbot: QtBot) -> Session:
    made = Session(open_site)
    made.open(example_folder() / "2025-06-first-year")
    return made


def _choose(session: Session, name: str) -> None:
    session.selection.choose([r.trace.source for r in session.results if name in r.trace.source])


def test_healthy_sweep_shows_parameters_and_residuals(
    shown: Callable[..., Any], session: Session
) -> None:
    pane = shown(SweepPane(session, Look(session.settings)))
    _choose(session, "CB-B-S01")
    said = pane.said.toPlainText()
    assert "Photocurrent" in said
    assert "±" in said
    assert "apparent series" in said
    x, y = pane._missed.getData()
    result = session.current
    assert result is not None
    assert len(x) == result.measured_curve.voltage.size
    assert np.abs(y).max() < 0.02 * result.measured.i_sc


def test_staircase_says_that_one_diode_is_meaningless(
    shown: Callable[..., Any], session: Session
) -> None:
    pane = shown(SweepPane(session, Look(session.settings)))
    _choose(session, "CB-C-S08")
    said = pane.said.toPlainText()
    assert "Photocurrent" not in said
    assert "meaning" in said or "one diode" in said


def test_digits_follow_the_uncertainty() -> None:
    """A fit of pvlib-checked exact points gives the parameters back, to the digits shown."""
    true = DiodeParameters.of(9.0, 1e-10, 6.0, 5000.0, 32.0)
    voltage, current = curve(true, 80)
    rng = np.random.default_rng(5)

    class One:
        class trace:  # noqa: N801
            source = "made"

    One.trace.voltage = voltage  # type: ignore[attr-defined]
    One.trace.current = current + 2e-3 * rng.standard_normal(80)  # type: ignore[attr-defined]
    fit = SweepFits(Jobs()).of(One)  # type: ignore[arg-type]
    assert not isinstance(fit, str)
    lines = {line.name: line for line in parameter_lines(fit)}
    shown = float(lines["Photocurrent"].value.split()[0])
    spread = float(lines["Photocurrent"].spread.split()[1])
    assert abs(shown - 9.0) < 3 * spread
    assert spread < 0.01
    assert lines["Shunt resistance"].value.endswith(" kΩ")
    shown, spread = lines["Shunt resistance"].value, lines["Shunt resistance"].spread
    assert len(shown.split()[0].partition(".")[2]) == len(spread.split()[1].partition(".")[2])
    assert abs(float(shown.split()[0]) - 5.0) < 3 * float(spread.split()[1])
    number, *rest = lines["Saturation current"].value.split()
    pm, extra, *same = lines["Saturation current"].spread.split()
    assert pm == "±"
    assert rest == same, "both by the same power of ten"
    assert rest[0] == "×"
    assert rest[1].startswith("10⁻")
    assert rest[2] == "A"
    assert len(number.partition(".")[2]) == len(extra.partition(".")[2])


def test_selected_repeats_have_one_set_of_parameters_together(
    shown: Callable[..., Any], session: Session
) -> None:
    first = next(one for one in session.results if "CB-B-S01" in one.trace.source)
    at = first.trace.measured_at
    assert at is not None
    random = np.random.default_rng(4)
    repeats = []
    for number in (1, 2):
        trace = replace(
            first.trace,
            source=f"CB-B-S01_repeat{number}.csv",
            current=first.trace.current + random.normal(0, 0.002, first.trace.current.size),
            measured_at=at + timedelta(minutes=number),
        )
        repeats.append(replace(first, trace=trace))
    session.take([Arrival(results=tuple(repeats))])
    pane = shown(SweepPane(session, Look(session.settings)))
    session.selection.choose([first.trace.source])
    assert "together" not in pane.said.toPlainText()
    session.selection.choose([first.trace.source, *(one.trace.source for one in repeats)])
    assert "Of the 3 selected repeats together" in pane.said.toPlainText()
    _choose(session, "CB-B-S02")
    assert "together" not in pane.said.toPlainText()


def test_sweeps_of_other_conditions_or_strings_are_no_repeats(session: Session) -> None:
    together = SweepFits(Jobs()).together
    first, other = session.results[:2]
    assert together(first, [first, other]) is None
    warmer = replace(first.conditions, temperature_cell=first.conditions.temperature_cell + 5)
    again = replace(first, conditions=warmer, trace=replace(first.trace, source="again.csv"))
    assert together(first, [first, again]) is None
    found = together(first, [first, replace(again, conditions=first.conditions)])
    assert found is not None
    assert found[0] == 2


def test_repeats_are_fitted_together_once_while_they_stay_selected(session: Session) -> None:
    """Each arrival of other traces made the fit anew, half a second for five sweeps."""
    first, other = session.results[:2]
    again = replace(first, trace=replace(first.trace, source="again.csv"))
    third = replace(first, trace=replace(first.trace, source="third.csv"))
    fits = SweepFits(Jobs())
    found = fits.together(first, [first, again])
    assert found is not None
    assert fits.together(first, [first, again]) is found
    assert fits.together(first, [first, other]) is None
    more = fits.together(first, [first, again, third])
    assert more is not None
    assert more[0] == 3
    fits.forget()
    assert fits.together(first, [first, again, third]) is not more


class Heard:
    times = 0

    def once_more(self) -> None:
        self.times += 1


def test_the_window_does_not_wait_for_repeats(session: Session) -> None:
    first = session.results[0]
    again = replace(first, trace=replace(first.trace, source="again.csv"))
    third = replace(first, trace=replace(first.trace, source="third.csv"))
    jobs, begun = Jobs(), list[Job]()
    jobs.runner = begun.append
    fits = SweepFits(jobs)
    heard = Heard()
    fits.arrived.connect(heard.once_more)
    assert fits.together(first, [again]) is None
    assert fits.together(first, [again, third]) is None
    assert [job.cancelled for job in begun] == [True, False]
    for job in begun:
        run_here(job)
    found = fits.together(first, [again, third])
    assert found is not None
    assert found[0] == 3
    assert heard.times == 1
