"""Panes about the years: rates, changes, sample, warranty; each tied to the shared selection."""

import csv
from dataclasses import replace

import pytest
from PySide6.QtCore import QDate, Qt
from PySide6.QtWidgets import QComboBox

from viewer.physics.nomenclature import with_minus
from viewer.state.program.jobs import Outcome, run_here
from viewer.widgets.controls.binding import fill_choices
from viewer.widgets.controls.theme import DARK, LIGHT
from viewer.widgets.strings.heat_grid import HeatGrid
from viewer.widgets.strings.heat_grid_model import DEVIATION
from viewer.widgets.years.change_model import COLUMNS as CHANGE_COLUMNS
from viewer.widgets.years.change_pane import ChangePane
from viewer.widgets.years.rate_chart import CHART, RATE
from viewer.widgets.years.sample_pane import SamplePane
from viewer.widgets.years.warranty_pane import WarrantyPane
from viewer.widgets.years.years_pane import WIDE, YearsPane

SHORT_NOW, SHORT_THEN = "2025/C1/S2.csv", "2024/C1/S2.csv"


@pytest.fixture
def years(shown, session, look):
    return shown(YearsPane(session, look), 1000, 500)


@pytest.fixture
def changes(shown, session, look):
    return shown(ChangePane(session, look), 1000, 400)


@pytest.fixture
def sample(shown, session, look):
    return shown(SamplePane(session, look), 1000, 400)


@pytest.fixture
def warranty(shown, session, look):
    return shown(WarrantyPane(session, look), 1000, 400)


def row_of(model, place):
    return next(n for n, row in enumerate(model.rows) if row.place == place)


def test_a_pane_nobody_sees_computes_nothing(qtbot, session, look):
    pane = YearsPane(session, look)
    qtbot.addWidget(pane)
    session.loaded.notify()
    assert session.years.found is None


def test_rates_are_printed_with_their_intervals(years, session):
    session.selection.choose([SHORT_NOW])
    for row, one in enumerate(years.model.rows):
        text = years.model.index(row, RATE).data()
        assert text == with_minus(one.rate.text().removesuffix(" %/year"))
        assert " to " in text


def test_a_click_on_a_string_selects_it_and_a_group_cannot_be_selected(years, session, qtbot):
    session.selection.choose(["2025/C1/S1.csv"])
    row = row_of(years.model, ("C1", "S2"))
    years.view.scrollTo(years.model.index(row, 0))
    box = years.view.visualRect(years.model.index(row, CHART))
    qtbot.mouseClick(years.view.viewport(), Qt.MouseButton.LeftButton, pos=box.center())
    assert session.selection.ids == (SHORT_NOW,)
    group = years.model.index(0, 0)
    assert not years.model.flags(group) & Qt.ItemFlag.ItemIsSelectable
    years.view.scrollTo(group)
    centre = years.view.visualRect(group).center()
    qtbot.mouseClick(years.view.viewport(), Qt.MouseButton.LeftButton, pos=centre)
    assert SHORT_NOW in session.selection.ids or session.selection.ids == ()


def test_selecting_a_trace_of_any_visit_marks_its_string(years, session):
    session.selection.choose([SHORT_THEN])
    rows = {index.row() for index in years.view.selectedIndexes()}
    assert rows == {row_of(years.model, ("C1", "S2"))}
    session.selection.choose(["2025/C2/S3.csv"])
    assert {row.place[0] for row in years.model.rows if row.place} == {"C2"}


def test_words_history_and_boxes_follow_the_current_string(years, session):
    session.selection.choose([SHORT_NOW])
    said = years.said.toPlainText()
    assert said.startswith("C1 / S2")
    assert "Power is falling" in said
    assert "published median" in said
    history, rates = years.history._shown
    assert history.place == ("C1", "S2")
    assert rates.place == ("C1", "S2")
    assert years.boxes._current == {SHORT_THEN, SHORT_NOW}


def test_the_rate_column_draws_the_interval_where_the_numbers_say(years, session):
    session.selection.choose([SHORT_NOW])
    years.view.clearSelection()
    row = row_of(years.model, ("C1", "S2"))
    index = years.model.index(row, CHART)
    years.view.scrollTo(index)
    box = years.view.visualRect(index)
    at = round(years.cells.place(box, years.model.rows[row].rate.value))
    picture = years.view.viewport().grab().toImage()
    density = picture.devicePixelRatio()
    seen = picture.pixelColor(round(at * density), round(box.center().y() * density))
    assert seen.name().lower() == LIGHT.level_short.lower()


def test_wide_it_stands_side_by_side_and_narrow_in_tabs(years):
    assert years.tabs.isVisible()
    years.resize(WIDE + 100, 500)
    assert not years.tabs.isVisible()
    assert all(part.isVisible() for part in (years.said, years.history, years.boxes))
    years.resize(800, 500)
    assert years.tabs.count() == 3


def test_both_themes_draw(years, look, session):
    session.selection.choose([SHORT_NOW])
    look.theme.value = DARK
    assert years.cells.theme is DARK
    look.theme.value = LIGHT
    assert not years.grab().isNull()


def test_changes_show_shape_and_words_not_colour_alone(changes, session):
    model = changes.model
    row = model.row_of(SHORT_NOW)
    assert row == 0, "the largest loss of power comes first"
    assert model.index(0, CHANGE_COLUMNS.index("p_mp")).data().startswith("▼ −11.")
    assert model.index(0, CHANGE_COLUMNS.index("verdict")).data().startswith("Pmp lower")
    assert "▼" not in model.index(1, CHANGE_COLUMNS.index("p_mp")).data()
    assert "lower beyond the uncertainty in 1" in changes.said.text()


def test_one_button_overlays_both_visits_at_stc(changes, session, qtbot):
    session.selection.choose([SHORT_NOW])
    qtbot.mouseClick(changes.overlay, Qt.MouseButton.LeftButton)
    assert session.selection.ids == (SHORT_THEN, SHORT_NOW)
    assert session.choices.form.value == "stc"


def test_the_heat_grid_takes_the_chosen_baseline(changes, session, shown, look, qtbot):
    grid = shown(HeatGrid(session, look), 900, 300)
    session.selection.choose([SHORT_NOW])
    qtbot.mouseClick(changes.on_grid, Qt.MouseButton.LeftButton)
    change = changes.model.changes[0].change("p_mp")
    assert grid.model.index(1, 4).data(DEVIATION) == pytest.approx(change.percent)
    assert grid.basis.text() == "at STC against 2024"


def test_choosing_the_other_baseline_turns_the_change_round(changes, session):
    before = changes.model.changes[0].change("p_mp").percent
    session.years.baseline.value = "2025"
    one = changes.model.changes[changes.model.row_of(SHORT_NOW)].change("p_mp")
    assert 1 + one.percent / 100 == pytest.approx(1 / (1 + before / 100))


def test_names_of_changed_strings_are_whole(changes):
    """Three rows were all called 'INV1-DC…'."""
    usual = changes.view.columnWidth(0)
    names = [f"INV1-DC04-S{n:02}" for n in range(len(changes.model.changes))]
    longer = [
        replace(one, place=("INV1-DC04", name))
        for one, name in zip(changes.model.changes, names, strict=True)
    ]
    changes.model.show_changes(longer)
    changes.resize(changes.width() + 1, changes.height())
    need = changes.fontMetrics().horizontalAdvance(names[0])
    assert usual < need < changes.view.columnWidth(0)


def test_changes_sort_by_any_column(changes):
    changes.view.sortByColumn(0, Qt.SortOrder.DescendingOrder)
    assert changes.model.changes[0].place == ("C2", "S4")


def test_strings_are_live_in_any_light(sample):
    assert "whenever light falls on them" in sample.said.toPlainText()


def test_the_sample_is_listed_and_written(sample, session, tmp_path):
    sample.share.setValue(50)
    listed = [row.place for row in sample.model.rows]
    assert ("C1", "S2") in listed
    assert "probability" in sample.said.toPlainText()
    sample.save_csv(tmp_path / "sample.csv")
    with (tmp_path / "sample.csv").open(encoding="utf-8") as stream:
        assert [(r["combiner"], r["string"]) for r in csv.DictReader(stream)] == listed
    assert session.message.value.startswith("Saved ")


def test_the_test_sheet_lists_the_sample_as_pdf_and_csv(sample, tmp_path):
    sample.save_sheet(tmp_path / "sheet.csv")
    with (tmp_path / "sheet.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert [(r["combiner"], r["string"]) for r in rows] == [r.place for r in sample.model.rows]
    sample.save_sheet(tmp_path / "sheet.pdf")
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")


def test_a_folder_that_is_not_there_is_told_in_a_sentence(sample, session, tmp_path):
    sample.save_csv(tmp_path / "nowhere" / "sample.csv")
    assert "was not saved" in session.message.value


def test_another_seed_is_another_sample(sample):
    sample.short.setChecked(False)
    chosen = set()
    for seed in range(1, 9):
        sample.seed.setValue(seed)
        chosen.add(tuple(row.place for row in sample.model.rows))
    assert len(chosen) > 1


def test_warranty_asks_for_terms_then_decides(warranty, session):
    assert "Enter the terms" in warranty.said.toPlainText()
    warranty.start.setDate(QDate(2024, 1, 1))
    warranty.use_terms()
    assert warranty.model.rows[0].place == ("C1", "S2")
    assert warranty.model.rows[0].cells[1] == "▼ below"
    assert "ILAC-G8" in warranty.said.toPlainText()
    assert "safe" not in warranty.said.toPlainText().lower()


def test_wrong_terms_are_told_and_change_nothing(warranty, session):
    warranty.steps.setText("ten years")
    warranty.use_terms()
    assert "AGE:PERCENT" in warranty.problem.text()
    assert session.years.terms.value == {}


def test_selecting_a_row_of_the_warranty_selects_the_string(warranty, session):
    warranty.start.setDate(QDate(2024, 1, 1))
    warranty.use_terms()
    warranty.view.selectRow(0)
    assert session.selection.ids == (SHORT_NOW,)


@pytest.mark.parametrize("pane", [YearsPane, ChangePane, SamplePane, WarrantyPane])
def test_nothing_open_is_no_trouble(pane, shown, session, look):
    widget = shown(pane(session, look), 800, 300)
    session.selection.clear()
    session.opener = lambda path, inputs: iter(())
    session.open(session.folder)
    assert widget.isVisible()


def test_words_of_a_change_give_way_to_the_numbers_and_come_back(changes, qtbot):
    words = CHANGE_COLUMNS.index("verdict")
    assert not changes.view.isColumnHidden(words)
    changes.resize(740, 400)
    qtbot.waitUntil(lambda: changes.view.isColumnHidden(words))
    changes.resize(1000, 400)
    qtbot.waitUntil(lambda: not changes.view.isColumnHidden(words))


@pytest.mark.parametrize("kind", [YearsPane, ChangePane, SamplePane, WarrantyPane])
def test_a_hidden_pane_waits_until_it_is_seen(kind, shown, qtbot, session, look, monkeypatch):
    filled: list[object] = []
    monkeypatch.setattr(kind, "refill", lambda self, *_: filled.append(self))
    pane = kind(session, look)
    qtbot.addWidget(pane)
    session.years.ensure()
    session.choices.visit.value = session.visits[0].name
    assert session.years.found is not None
    assert filled == []
    shown(pane)
    qtbot.waitUntil(lambda: pane in filled)


def test_the_sample_waits_for_all_traces(sample, session, qtbot):
    assert sample.planned is not None
    waiting = []
    session.jobs.runner = waiting.append
    session.open(session.folder)
    assert sample.planned is None
    for step in waiting[0].steps():
        waiting[0].receive([step])
    assert "all traces" in sample.said.toPlainText()
    assert sample.model.rowCount() == 0
    session.jobs.runner = run_here
    waiting[0].end(Outcome("done"))
    qtbot.waitUntil(lambda: sample.planned is not None)
    assert sample.model.rowCount() > 0


def test_a_box_filled_again_with_the_same_is_not_asked_for_what_it_holds(qtbot):
    class Silent(QComboBox):
        def itemText(self, _):
            raise AssertionError("asked")

    box = Silent()
    qtbot.addWidget(box)
    choices = [(f"C{n}", n) for n in range(300)]
    fill_choices(box, choices, 7)
    box.setItemText(3, "still there")
    fill_choices(box, list(choices), 8)
    assert box.currentIndex() == 8
    assert QComboBox.itemText(box, 3) == "still there"
    fill_choices(box, choices[:-1], "not among them")
    assert (box.count(), box.currentIndex()) == (299, 0)
    assert QComboBox.itemText(box, 3) == "C3"
