from dataclasses import replace

import numpy as np
import pytest

from viewer.state.session import Arrival
from viewer.widgets.strings.mismatch_pane import MismatchPane


@pytest.fixture
def pane(shown, session, look):
    session.choices.combiner.value = "C1"
    return shown(MismatchPane(session, look), 1000, 320)


def test_the_loss_is_the_sum_of_maxima_less_the_maximum_of_the_sum(pane, session):
    latest = session.results_of("C1")
    own = sum(one.translated.p_mp for one in latest)
    made = pane.shown.mismatch
    assert made.sum_of_maxima == pytest.approx(own, rel=1e-3)
    assert made.loss >= 0
    assert f"{made.loss:.0f} W" in pane.said.text()
    assert "standard test conditions" in pane.said.text()


def test_the_short_string_comes_first_with_the_longest_bar(pane):
    assert pane.rows.rows[0].cells[0] == "S2"
    assert int(np.argmax(pane.bars.values)) == 0


def test_a_row_selects_its_string_everywhere_and_the_other_way_round(pane, session):
    pane.list.selectRow(0)
    assert session.current.trace.string == "S2"
    session.selection.choose([pane.rows.rows[3].trace_id])
    assert pane.list.currentIndex().row() == 3


def test_repairing_more_strings_is_told(pane):
    assert pane.repair.text().startswith("brings +")
    assert "S2" in pane.repair.text()
    pane.count.setValue(2)
    assert pane.count.text() == "Repairing the worst 2 strings"
    gain = pane.shown.mismatch.gain_of_worst[2]
    assert f"{gain:+.0f} W" in pane.repair.text()


def test_the_pane_turns_to_the_combiner_of_the_current_string(pane, session):
    other = session.results_of("C2")[0]
    session.selection.choose([other.trace.source])
    assert pane.shown.combiner == "C2"
    assert {row.place[0] for row in pane.rows.rows} == {"C2"}


def test_nothing_traced_is_said(pane, session):
    session.choices.combiner.value = "C1"
    session._by_combiner.clear()
    pane.recompute()
    assert "No string of this combiner" in pane.said.text()


def test_names_that_repeat_their_combiner_s_are_told_without_it(pane, session):
    """All rows read 'INV1-DC…'."""
    for old in session.results_of("C1"):
        renamed = replace(old.trace, string=f"C1-{old.trace.string}")
        session.take([Arrival(results=(replace(old, trace=renamed),))])
    pane.recompute()
    assert {row.cells[0] for row in pane.rows.rows} == {"S1", "S2", "S3", "S4"}
    assert {row.place[1] for row in pane.rows.rows} == {"C1-S1", "C1-S2", "C1-S3", "C1-S4"}
