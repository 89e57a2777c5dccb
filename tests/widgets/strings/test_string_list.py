from dataclasses import replace
from datetime import timedelta

import pytest
from PySide6.QtCore import QItemSelectionModel, Qt

from tests.invented_results import InventedOpener, invented_visits
from viewer.analysis.causes.confirmation import confirm
from viewer.site_data.site_layout import Combiner, StringLayout
from viewer.state.program.settings import Settings
from viewer.state.session import Arrival, Session
from viewer.widgets.controls.theme import SMALL, Look
from viewer.widgets.strings.string_list import StringList
from viewer.widgets.strings.string_list_model import COLUMNS

AT_1280 = 496, 320
"""What the list is given in a window of 1280 x 720."""
KEYS = [one[0] for one in COLUMNS]


@pytest.fixture
def strings(shown, session, look):
    return shown(StringList(session, look))


def column(strings, key):
    model = strings.model
    return [model.index(row, KEYS.index(key)).data() for row in range(model.rowCount())]


def test_the_shown_visit_is_listed_in_order(strings, session):
    assert column(strings, "string") == ["S1", "S2", "S3", "S4"] * 2
    assert strings.count.text() == "8 shown"
    session.choices.visit.value = None
    assert strings.model.rowCount() == 16


def test_the_day_is_shown_only_with_all_visits(strings, session):
    assert strings.view.isColumnHidden(KEYS.index("day"))
    session.choices.visit.value = None
    assert not strings.view.isColumnHidden(KEYS.index("day"))


def test_sorting_by_a_heading(strings):
    strings.sort_by("power_ratio")
    ratios = [float(text) for text in column(strings, "power_ratio")]
    assert ratios == sorted(ratios)
    strings.sort_by("power_ratio", falling=True)
    assert [float(text) for text in column(strings, "power_ratio")] == sorted(ratios)[::-1]


def test_typing_filters_after_a_pause(strings, qtbot):
    qtbot.keyClicks(strings.words, "soiling")
    qtbot.waitUntil(lambda: strings.model.rowCount() == 1, timeout=2000)
    assert column(strings, "first_cause") == ["soiling"]
    strings.words.clear()
    qtbot.waitUntil(lambda: strings.model.rowCount() == 8, timeout=2000)


def test_standing_is_a_word_and_a_shape_not_a_colour_alone(strings):
    words = column(strings, "standing")
    assert words[:4] == ["as expected", words[1], "check conditions", "as expected"]
    assert words[1].startswith("short by ")
    icons = [
        strings.model.index(row, KEYS.index("standing")).data(Qt.ItemDataRole.DecorationRole)
        for row in range(3)
    ]
    images = [one.pixmap(16).toImage().createAlphaMask() for one in icons]
    assert images[0] != images[1]
    assert images[1] != images[2]


def test_a_click_selects_and_control_adds(strings, session, qtbot):
    def click(row, modifier=Qt.KeyboardModifier.NoModifier):
        box = strings.view.visualRect(strings.model.index(row, 1))
        qtbot.mouseClick(strings.view.viewport(), Qt.MouseButton.LeftButton, modifier, box.center())

    click(0)
    assert session.selection.ids == ("2025/C1/S1.csv",)
    click(3, Qt.KeyboardModifier.ControlModifier)
    assert session.selection.ids == ("2025/C1/S1.csv", "2025/C1/S4.csv")
    assert session.selection.current == "2025/C1/S4.csv"
    click(0, Qt.KeyboardModifier.ControlModifier)
    assert session.selection.ids == ("2025/C1/S4.csv",)


def test_the_keyboard_moves_the_selection(strings, session, qtbot):
    session.selection.choose(["2025/C1/S1.csv"])
    strings.view.setFocus()
    qtbot.keyClick(strings.view, Qt.Key.Key_Down)
    assert session.selection.ids == ("2025/C1/S2.csv",)
    qtbot.keyClick(strings.view, Qt.Key.Key_Down, Qt.KeyboardModifier.ShiftModifier)
    assert set(session.selection.ids) == {"2025/C1/S2.csv", "2025/C1/S3.csv"}


def test_the_selection_follows_what_is_chosen_elsewhere(strings, session):
    session.selection.choose(["2025/C2/S1.csv", "2025/C1/S4.csv"])
    rows = sorted({index.row() for index in strings.view.selectedIndexes()})
    assert [strings.model.trace_of(row) for row in rows] == ["2025/C1/S4.csv", "2025/C2/S1.csv"]


def test_sorting_and_filtering_do_not_change_what_is_selected(strings, session):
    session.selection.choose(["2025/C1/S2.csv", "2025/C2/S1.csv"])
    before = session.selection.ids
    strings.sort_by("standing")
    strings.words.setText("C2")
    strings.arrange()
    assert session.selection.ids == before
    rows = {index.row() for index in strings.view.selectedIndexes()}
    assert [strings.model.trace_of(row) for row in rows] == ["2025/C2/S1.csv"]


def test_the_models_obey_qt(strings, qtmodeltester):
    qtmodeltester.check(strings.model, force_py=True)


def test_clearing_rows_in_the_view_clears_the_selection(strings, session):
    strings.view.selectionModel().select(
        strings.model.index(0, 0),
        QItemSelectionModel.SelectionFlag.Clear | QItemSelectionModel.SelectionFlag.Rows,
    )
    strings.view.clearSelection()
    assert session.selection.ids == ()


def in_sight(strings):
    row = strings.view.visualRect(strings.view.currentIndex())
    return strings.view.viewport().rect().contains(row.center())


def test_the_current_row_stays_in_sight_when_the_list_is_made_lower(strings, session, qtbot):
    session.choices.visit.value = None
    last = strings.model.trace_of(strings.model.rowCount() - 1)
    strings.resize(500, 700)
    session.selection.choose([last])
    qtbot.waitUntil(lambda: in_sight(strings))
    strings.resize(500, 220)
    qtbot.waitUntil(lambda: in_sight(strings))


def test_a_list_that_was_scrolled_away_stays_where_it_is(strings, session, qtbot):
    session.choices.visit.value = None
    strings.resize(500, 220)
    session.selection.choose([strings.model.trace_of(0)])
    bar = strings.view.verticalScrollBar()
    qtbot.waitUntil(lambda: bar.maximum() > 0 and in_sight(strings))
    qtbot.wait(50)  # until what the first change of size asked for is done
    bar.setValue(bar.maximum())
    strings.resize(500, 200)
    qtbot.wait(50)
    assert not in_sight(strings)


def test_settled_findings_are_marked_by_word_and_shape(shown, qapp, tmp_path, qtbot):
    session = Session(InventedOpener(invented_visits()), Settings(theme="light"))
    session.open(tmp_path)
    strings = shown(StringList(session, Look(session.settings)))
    one, other = "2025/C1/S2.csv", "2025/C1/S3.csv"
    session.settled.settle(session.result(one), confirm(session.result(one)))
    session.settled.settle(session.result(other), confirm(session.result(other), "shading"))
    model, cause = strings.model, KEYS.index("first_cause")

    def cell(trace, role=Qt.ItemDataRole.DisplayRole):
        return model.index(model.row_of(trace), cause).data(role)

    assert cell(one) == "soiling (confirmed)"
    assert cell(other) == "shading (corrected)"
    assert cell(one, Qt.ItemDataRole.AccessibleTextRole) == "cause soiling, confirmed in the field"
    spoken = cell(other, Qt.ItemDataRole.AccessibleTextRole)
    assert spoken == "cause shading, corrected in the field"
    shapes = [
        cell(trace, Qt.ItemDataRole.DecorationRole).pixmap(16).toImage().createAlphaMask()
        for trace in (one, other)
    ]
    assert shapes[0] != shapes[1]
    assert cell("2025/C1/S4.csv", Qt.ItemDataRole.DecorationRole) is None
    qtbot.keyClicks(strings.words, "corrected")
    qtbot.waitUntil(lambda: model.rowCount() == 1, timeout=2000)
    assert model.trace_of(0) == other
    strings.words.clear()
    strings.arrange()
    session.undo()
    assert "corrected" not in cell(other)
    again = Session(InventedOpener(invented_visits()), Settings(theme="light"))
    again.open(tmp_path)
    listed = shown(StringList(again, Look(again.settings)))
    assert listed.model.index(listed.model.row_of(one), cause).data() == "soiling (confirmed)"


def test_a_settled_cause_is_whole_beside_its_mark_in_the_width_of_a_small_window(
    shown, qapp, tmp_path
):
    """Words that have no room give way to the mark; what is spoken and told stays."""
    session = Session(InventedOpener(invented_visits()), Settings(theme="light"))
    session.open(tmp_path)
    strings = shown(StringList(session, Look(session.settings)), *AT_1280)
    found = {"2025/C1/S2.csv": "soiling", "2025/C1/S3.csv": "shading", "2025/C1/S4.csv": "none"}
    for trace, cause in found.items():
        session.settled.settle(session.result(trace), confirm(session.result(trace), cause))
    model, view, metrics = strings.model, strings.view, strings.fontMetrics()
    for trace, cause in found.items():
        index = model.index(model.row_of(trace), KEYS.index("first_cause"))
        words = "no fault" if cause == "none" else cause
        assert index.data() == words
        room = view.visualRect(index).width() - view.iconSize().width()
        assert metrics.horizontalAdvance(index.data()) < room - SMALL
        assert index.data(Qt.ItemDataRole.DecorationRole) is not None
        for role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
            assert "ed in the field" in index.data(role)
    strings.resize(900, strings.height())
    qapp.processEvents()
    index = model.index(model.row_of("2025/C1/S2.csv"), KEYS.index("first_cause"))
    assert index.data() == "soiling (confirmed)"


def test_names_that_begin_with_their_combiner_s_are_whole(shown, session, look):
    """Of INV1-DC04-S03, -S06 and -S09 three times 'INV1-DC...' was left."""
    strings = shown(StringList(session, look))
    string = KEYS.index("string")
    narrow = strings.view.columnWidth(string)
    names = tuple(f"INV1-DC04-S{n:02}" for n in range(1, 19))
    box = Combiner("INV1-DC04", tuple(StringLayout(name, "INV", 28) for name in names))
    session.layout = replace(session.layout, combiners=(box,))
    session.site_changed.notify()
    need = strings.fontMetrics().horizontalAdvance(names[-1])
    assert narrow < need + SMALL < strings.view.columnWidth(string)
    long = replace(box, strings=(StringLayout("N" * 200, "INV", 28),))
    session.layout = replace(session.layout, combiners=(long,))
    session.site_changed.notify()
    assert strings.view.columnWidth(string) < 2 * need


def test_two_traces_of_a_string_on_one_day_are_told_apart_by_their_time(strings, session):
    one = session.result("2025/C1/S2.csv")
    again = replace(
        one.trace,
        source="2025/C1/S2_again.csv",
        measured_at=one.trace.measured_at + timedelta(minutes=95),
    )
    session.take([Arrival(results=(replace(one, trace=again),))])
    times = [f"{at:%H:%M}" for at in (one.trace.measured_at, again.measured_at)]
    names = column(strings, "string")
    assert names[:4] == ["S1", f"S2, {times[0]}", f"S2, {times[1]}", "S3"]
    place = KEYS.index("string")
    need = strings.fontMetrics().horizontalAdvance(names[1])
    assert strings.view.columnWidth(place) > need
    session.choices.visit.value = None
    assert set(column(strings, "string")) == {"S1", "S2", "S3", "S4"}
    day = again.measured_at.date().isoformat()
    assert [one for one in column(strings, "day") if len(one) > len(day)] == [
        f"{day} {time}" for time in times
    ]
    assert strings.view.columnWidth(KEYS.index("day")) > strings.fontMetrics().horizontalAdvance(
        f"{day} {times[0]}"
    )


def test_how_a_string_is_doing_is_called_its_status(strings):
    at = KEYS.index("standing")
    assert strings.model.headerData(at, Qt.Orientation.Horizontal) == "Status"
    assert strings.level.itemText(0) == "any status"
