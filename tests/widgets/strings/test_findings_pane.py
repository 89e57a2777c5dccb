from dataclasses import replace

import pytest

from tests.invented_results import invented_result
from viewer.analysis.results.trace_result import CandidateCause, Signature
from viewer.state.session import Arrival
from viewer.widgets.strings.findings_pane import FindingsPane


@pytest.fixture
def pane(shown, session, look):
    return shown(FindingsPane(session, look), 700, 260)


def show(session, result):
    session.take([Arrival(results=(result,))])
    session.selection.choose([result.trace.source])


def test_signatures_and_causes_are_told_with_their_reasons(pane, session):
    result = replace(
        invented_result("C5", "S1", loss=0.1),
        signatures=(Signature("step", 0.3, "of i_sc", "Two groups limited <here>."),),
        candidate_causes=(
            CandidateCause("shading", 0.75, "a step", "look for a shadow", "no trees"),
            CandidateCause("cell_fault", 0.2, "a step too", "thermography"),
        ),
    )
    show(session, result)
    text = pane.words.toPlainText()
    for wanted in (
        "Two groups limited <here>.",
        "Shading, likelihood 75 %",
        "Against it: no trees",
        "Next check: look for a shadow",
        "Cell fault, likelihood 20 %",
    ):
        assert wanted in text
    assert text.index("Shading") < text.index("Cell fault")
    assert text.index("thermography") < text.index("persons qualified for energised DC work")
    show(session, replace(invented_result("C5", "S2"), candidate_causes=()))
    assert "energised" not in pane.words.toPlainText()


def test_what_the_curve_shows_is_told_once(pane, session):
    """The first cause rests on all of it, the second on something else."""
    said = "Two groups limited to 0.30 of the string's current."
    result = replace(
        invented_result("C5", "S1", loss=0.1),
        signatures=(Signature("step", 0.3, "of i_sc", said),),
        candidate_causes=(
            CandidateCause("shading", 0.75, said, "look for a shadow", "no trees"),
            CandidateCause("cell_fault", 0.2, "one of a kind", "thermography"),
        ),
    )
    show(session, result)
    text = pane.words.toPlainText()
    assert text.count(said) == 1
    assert "Shading, likelihood 75 %, by what is listed above\nAgainst it: no trees" in text
    assert "Cell fault, likelihood 20 %\nFor it: one of a kind" in text


def test_a_healthy_string_has_nothing_to_tell(pane, session):
    show(session, invented_result("C5", "S2"))
    text = pane.words.toPlainText()
    assert "Nothing in the curve's shape beyond the uncertainty" in text
    assert "Its power" not in text


def test_what_could_not_be_told_is_said_with_or_without_findings(pane, session):
    """A sweep that is too short was told to show nothing beyond the uncertainty."""
    said = "A sweep of 7 points is too short to read its shape; 8 are the least."
    unread = replace(invented_result("C5", "S3"), candidate_causes=(), missing=(said,))
    show(session, unread)
    assert said in pane.words.toPlainText()
    assert "Nothing in the curve's shape" not in pane.words.toPlainText()
    step = Signature("step", 0.3, "of i_sc", "Two groups limited.")
    show(session, replace(invented_result("C5", "S4"), signatures=(step,), missing=("Repeat it.",)))
    text = pane.words.toPlainText()
    assert text.index("Two groups limited.") < text.index("Repeat it.")


@pytest.mark.parametrize(
    ("ratio", "told"),
    [
        (0.954, "4.6 % below the prediction, more than its uncertainty of ± 4.1 % (k = 2)."),
        (0.966, "3.4 % below the prediction, within its uncertainty of ± 4.1 % (k = 2)."),
        (1.013, "1.3 % above the prediction, within its uncertainty of ± 4.1 % (k = 2)."),
    ],
)
def test_power_that_differs_is_told_where_the_shape_shows_nothing(pane, session, ratio, told):
    healthy = invented_result("C5", "S2")
    show(session, replace(healthy, power_ratio=ratio, power_ratio_uncertainty=0.041))
    assert f"Its power is {told}" in pane.words.toPlainText()


def test_without_a_prediction_the_pane_says_what_is_missing(pane, session):
    show(session, invented_result("C5", "S3", with_prediction=False))
    assert "needs the irradiance" in pane.words.toPlainText()
