import csv
import tomllib
from dataclasses import replace
from datetime import timedelta

import pytest
from PySide6.QtCore import Qt, QUrl

from tests.app.window.cut_words import cut_words
from tests.invented_results import InventedOpener, invented_result, invented_visits
from viewer.app.command_line import run
from viewer.physics.nomenclature import with_minus
from viewer.site_data.resource_folder import example_folder
from viewer.site_data.site_file.connection import open_site_file
from viewer.state.keeping.site_notes import read_kept
from viewer.state.program.settings import Settings
from viewer.state.session import Arrival, Session
from viewer.state.visit_opening import open_site
from viewer.widgets.controls.theme import Look
from viewer.widgets.plot.curve_plot import CurvePlot
from viewer.widgets.strings.findings_pane import FindingsPane
from viewer.widgets.strings.settle_row import SettleRow

SHORT = "2025/C1/S2.csv"


@pytest.fixture
def folder_session(tmp_path):
    made = Session(InventedOpener(invented_visits()), Settings(theme="light"))
    made.open(tmp_path)
    made.selection.choose([SHORT])
    return made


def test_a_confirmed_finding_is_kept_beside_the_folder_and_read_again(
    shown, folder_session, tmp_path
):
    row = shown(SettleRow(folder_session), 900, 90)
    assert "confirmations.toml" in row.keep.toolTip()
    assert not row.said.isVisible()
    assert row.cause.currentData() == "soiling"
    assert row.keep.text() == "Confirm"
    row.action.setText("Washed")
    row.parts.setText("SN-1, SN-2")
    row.keep.click()
    text = (tmp_path / "confirmations.toml").read_text(encoding="utf-8")
    (record,) = tomllib.loads(text)["confirmation"]
    assert (record["trace"], record["confirmed"]) == (SHORT, "soiling")
    assert record["parts"] == ["SN-1", "SN-2"]
    assert "no site file" in text
    again = shown(SettleRow(folder_session), 900, 90)
    assert again.action.text() == "Washed"
    assert "Confirmed: soiling. Washed. Parts: SN-1, SN-2." in again.said.text()
    assert again.said.isVisible()


def test_what_was_entered_is_there_again_after_a_look_at_another_string(shown, folder_session):
    row = shown(SettleRow(folder_session), 900, 90)
    row.cause.setCurrentIndex(row.cause.findData("degradation"))
    row.action.setText("Cells cracked")
    row.parts.setText("SN-1")
    folder_session.selection.choose(["2025/C1/S3.csv"])
    assert (row.action.text(), row.parts.text()) == ("", "")
    assert "not confirmed yet" not in row.said.text()
    folder_session.selection.choose([SHORT])
    assert (row.action.text(), row.parts.text()) == ("Cells cracked", "SN-1")
    assert row.cause.currentData() == "degradation"
    assert row.said.text().startswith("Entered, but not confirmed yet.")
    row.keep.click()
    assert row.said.text().startswith("Corrected to degradation.")
    assert row.settled.by_trace[SHORT].action == "Cells cracked"
    folder_session.selection.choose(["2025/C1/S3.csv"])
    folder_session.selection.choose([SHORT])
    assert "not confirmed yet" not in row.said.text()


def test_what_was_entered_for_one_site_is_not_shown_for_another(shown, folder_session, tmp_path):
    row = shown(SettleRow(folder_session), 900, 90)
    row.action.setText("Washed")
    other = tmp_path / "other"
    other.mkdir()
    folder_session.open(other)
    folder_session.selection.choose([SHORT])
    assert row.action.text() == ""


def test_return_confirms(shown, folder_session, qtbot):
    row = shown(SettleRow(folder_session), 900, 90)
    qtbot.keyClicks(row.action, "Washed")
    qtbot.keyClick(row.action, Qt.Key.Key_Return)
    assert row.settled.by_trace[SHORT].action == "Washed"


def test_retests_bear_their_day_and_the_hour_where_a_day_has_two(shown, folder_session, qapp):
    folder_session.selection.choose(["2024/C1/S2.csv"])
    row = shown(SettleRow(folder_session), 900, 90)
    assert row.retest.itemText(1) == "retest 2025-06-05"
    assert cut_words(row) == []
    known = folder_session.result(SHORT)
    at = known.trace.measured_at + timedelta(hours=2)
    later = replace(known, trace=replace(known.trace, source="again.csv", measured_at=at))
    folder_session.take([Arrival(results=(later,))])
    told = [row.retest.itemText(place) for place in (1, 2)]
    assert told == [f"retest 2025-06-05 {hour:%H:%M}" for hour in (known.trace.measured_at, at)]
    row.retest.setCurrentIndex(2)
    qapp.processEvents()
    assert cut_words(row) == []


def test_no_cause_is_called_no_fault(shown, folder_session):
    row = shown(SettleRow(folder_session), 900, 90)
    assert row.cause.itemText(row.cause.findData("none")) == "no fault"


def test_a_corrected_cause_says_what_was_suggested_first(shown, folder_session):
    row = shown(SettleRow(folder_session), 900, 90)
    row.cause.setCurrentIndex(row.cause.findData("degradation"))
    row.cause.activated.emit(row.cause.currentIndex())
    assert row.keep.text() == "Correct"
    row.keep.click()
    assert "Corrected to degradation. The first suggestion was soiling." in row.said.text()
    assert "0 were as first suggested" in row.settled.record()


def test_a_retest_shows_the_gain_and_both_curves(shown, folder_session, tmp_path):
    before = "2024/C1/S2.csv"
    folder_session.selection.choose([before])
    row = shown(SettleRow(folder_session), 900, 90)
    row.retest.setCurrentIndex(row.retest.findData(SHORT))
    row.keep.click()
    earlier, later = folder_session.result(before), folder_session.result(SHORT)
    watt = later.translated.p_mp - earlier.translated.p_mp
    assert with_minus(f"{watt:+.0f} W at STC") in row.said.text()
    row.overlay.click()
    assert folder_session.selection.ids == (before, SHORT)
    assert folder_session.choices.form.value == "stc"
    row.export_to(tmp_path / "out.csv")
    with (tmp_path / "out.csv").open(encoding="utf-8", newline="") as stream:
        (line,) = csv.DictReader(stream)
    assert float(line["gain at STC [W]"]) == pytest.approx(watt, abs=0.06)
    assert line["gain beyond uncertainty"] == "yes"


def test_both_curves_are_shown_before_anything_is_confirmed(shown, folder_session):
    """The button stayed grey, without a word, until a finding with a retest had been kept."""
    before = "2024/C1/S2.csv"
    folder_session.selection.choose([before])
    row = shown(SettleRow(folder_session), 900, 90)
    assert not row.overlay.isEnabled()
    row.retest.setCurrentIndex(row.retest.findData(SHORT))
    assert row.overlay.isEnabled()
    row.overlay.click()
    assert folder_session.selection.ids == (before, SHORT)
    assert row.settled.by_trace == {}


def test_what_is_typed_stays_while_more_traces_arrive(shown, folder_session):
    row = shown(SettleRow(folder_session), 900, 90)
    row.action.setText("half a sente")
    from viewer.state.session import Arrival

    folder_session.take([Arrival(results=(invented_result("C9", "S9"),))])
    assert row.action.text() == "half a sente"


def test_a_broken_file_is_told_and_kept_as_it_is(shown, folder_session, tmp_path):
    (tmp_path / "confirmations.toml").write_text("confirmation = [oops", encoding="utf-8")
    folder_session.settled.read()
    row = shown(SettleRow(folder_session), 900, 90)
    assert "not valid TOML" in folder_session.message.value
    row.keep.click()
    assert "not valid TOML" in folder_session.message.value
    assert (tmp_path / "confirmations.toml").read_text() == "confirmation = [oops"


def test_in_a_site_file_it_is_a_finding_and_a_repair_too(shown, tmp_path):
    file = tmp_path / "site.curvewright"
    assert run(["import", str(example_folder()), str(file), "--quiet"]) in (0, 1)
    session = Session(open_site, Settings(theme="light"))
    session.open(file)
    short = next(
        one for one in session.results if one.trace.string == "CB-C-S16" and one.candidate_causes
    )
    session.selection.choose([short.trace.source])
    row = shown(SettleRow(session), 900, 90)
    row.action.setText("Washed the lower row")
    row.keep.click()
    with open_site_file(file) as site_file:
        kept = read_kept(site_file)
    kinds = {one.kind: one for one in kept.annotations if one.about == "CB-C/CB-C-S16"}
    assert {"finding", "repair"} <= set(kinds)
    assert kinds["finding"].state == "closed"
    assert "Washed the lower row" in kinds["repair"].text
    again = shown(SettleRow(session), 900, 90)
    assert again.action.text() == "Washed the lower row"
    assert session.undo_label == "Finding on CB-C CB-C-S16"
    session.undo()
    with open_site_file(file) as site_file:
        assert read_kept(site_file).annotations == ()
    assert row.settled.by_trace == {}


def test_a_signature_is_shown_on_the_curve_and_taken_away_again(shown, session, qapp):
    from dataclasses import replace

    from viewer.analysis.results.trace_result import CandidateCause, Signature
    from viewer.state.session import Arrival

    look = Look(session.settings)
    plot = shown(CurvePlot(session, look), 800, 500)
    pane = shown(FindingsPane(session, look), 700, 300)
    result = replace(
        invented_result("C5", "S1", loss=0.1),
        signatures=(Signature("low_current", 0.1, "fraction", "Low current."),),
        candidate_causes=(CandidateCause("soiling", 0.6, "low", "clean"),),
    )
    session.take([Arrival(results=(result,))])
    session.choices.form.value = "stc"
    session.selection.choose([result.trace.source])
    pane.words.anchorClicked.emit(QUrl("signature-0"))
    assert session.choices.form.value == "measured"
    assert plot.highlights.items
    pane.words.anchorClicked.emit(QUrl("signature-0"))
    assert not plot.highlights.items
    pane.words.anchorClicked.emit(QUrl("cause-0"))
    assert plot.highlights.items
    session.selection.choose([SHORT])
    assert not plot.highlights.items
    assert session.choices.highlights.value == (None, ())
