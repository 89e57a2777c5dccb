from dataclasses import replace

import pytest
from PySide6.QtCore import Qt

from tests.invented_results import MODULE, MODULES, invented_result
from viewer.analysis.results.trace_result import Check
from viewer.state.session import Arrival
from viewer.widgets.strings.key_point_pane import KeyPointPane


@pytest.fixture
def pane(shown, session, look):
    return shown(KeyPointPane(session, look), 900, 260)


def cells(pane, row):
    return [pane.model.index(row, column).data() for column in range(5)]


def test_the_current_string_is_described(pane, session):
    result = session.current
    assert pane.title.text() == "C1 S2, 2025-06-05"
    assert "short by" in pane.verdict.text()
    assert f"power ratio {result.power_ratio:.3f} ± 0.030 (k = 2)" in pane.verdict.text()
    assert cells(pane, 0) == [
        f"{result.measured.i_sc:.3f}",
        f"{result.predicted.i_sc:.3f}",
        f"−{100 * (1 - result.measured.i_sc / result.predicted.i_sc):.1f} %",
        f"{result.translated.i_sc:.3f}",
        f"{MODULE.i_sc:.3f}",
    ]
    assert cells(pane, 1)[4] == f"{MODULE.v_oc * MODULES:.2f}"
    assert cells(pane, 4)[4] == f"{MODULE.p_mp * MODULES:.1f}"


def test_conditions_and_checks_are_in_words(pane, session):
    session.selection.choose(["2025/C1/S3.csv"])
    text = pane.details.toPlainText()
    assert "968 W/m²" in text
    assert "back of module plus 2.9 K" in text
    assert "✗ not passed Irradiance is high enough" in text
    assert "✓ passed Irradiance was steady" in text
    assert "IEC 60891 procedure 2" in text
    assert text.startswith("Checks not passed"), "seen without scrolling"
    session.selection.choose(["2025/C1/S2.csv"])
    assert pane.details.toPlainText().startswith("Test conditions")


def test_negative_numbers_in_checks_have_a_minus_sign(pane, session):
    known = session.result("2025/C1/S3.csv")
    cold = Check("irradiance drift", False, "1000 to 931 W/m² over the sweep, -6.9%, beyond ±5.0%")
    conditions = replace(known.conditions, checks=(cold,))
    trace = replace(known.trace, conditions=replace(known.trace.conditions, temperature_air=-3.5))
    session.take([Arrival(results=(replace(known, conditions=conditions, trace=trace),))])
    session.selection.choose([known.trace.source])
    text = pane.details.toPlainText()
    assert "over the sweep, −6.9%, beyond" in text
    assert "Air temperature, recorded: −3.5 °C" in text
    assert "-6.9" not in text


def test_what_is_missing_is_said_not_invented(pane, session):
    bare = invented_result("C4", "S1", with_prediction=False)
    session.take([Arrival(results=(bare,))])
    session.selection.choose([bare.trace.source])
    assert cells(pane, 0)[1:] == ["–", "–", "–", "–"]
    assert "needs the irradiance, which the file does not state" in pane.details.toPlainText()
    assert "no prediction" in pane.verdict.text()


def test_nothing_selected_leaves_an_empty_pane(pane, session):
    session.selection.clear()
    assert pane.title.text() == "No string selected"
    assert pane.model.rowCount() == 0


def test_words_of_a_file_are_shown_as_words_not_as_markup(pane, session):
    from dataclasses import replace

    result = invented_result("C4", "S2")
    result = replace(result, trace=replace(result.trace, note="<b>bold</b> & more"))
    session.take([Arrival(results=(result,))])
    session.selection.choose([result.trace.source])
    assert "<b>bold</b> & more" in pane.details.toPlainText()


def test_no_number_of_the_table_is_clipped(pane):
    view = pane.view
    for row in range(6):
        for column in range(5):
            index = pane.model.index(row, column)
            wide = view.fontMetrics().horizontalAdvance(index.data())
            assert wide + 6 <= view.columnWidth(column)
    assert view.viewport().height() >= sum(view.rowHeight(row) for row in range(6))
    assert view.viewport().width() >= sum(view.columnWidth(column) for column in range(5))


def test_numbers_are_aligned_at_the_right(pane):
    for column in range(5):
        role = pane.model.index(0, column).data(Qt.ItemDataRole.TextAlignmentRole)
        assert role & int(Qt.AlignmentFlag.AlignRight)


def test_the_model_obeys_qt(pane, qtmodeltester):
    qtmodeltester.check(pane.model, force_py=True)
