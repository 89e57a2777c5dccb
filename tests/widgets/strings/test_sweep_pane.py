"""The pane that shows what one sweep tells by itself."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from viewer.physics.single_diode import DiodeParameters, curve
from viewer.site_data.resource_folder import example_folder
from viewer.state.session import Session
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
    fit = SweepFits().of(One)  # type: ignore[arg-type]
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
