"""On a window of 1280 x 720 every pane shows its words whole, on the desk it lies on."""

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetricsF
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel, QPushButton

from tests.app.window.cut_words import cut_words, sideways
from tests.app.window.example_window import example_window
from viewer.app.window.desks import DESKS
from viewer.app.window.panes import PANES
from viewer.reports.curve_figure import FORMS, PANELS, with_unit
from viewer.widgets.controls.theme import DARK, LIGHT

PLACES = [(desk.id, pane) for desk in DESKS for pane in desk.panes]
FLOATING = [pane for pane in PANES if pane.floating]


@pytest.fixture(scope="module")
def window(qapp):
    """The window as it comes up on a small screen, with the example open."""
    with example_window(qapp, 1280, 720) as made:
        yield made


@pytest.mark.parametrize(("desk", "pane"), PLACES)
def test_no_word_of_a_pane_is_cut(window, qapp, desk, pane):
    if window.desks.current.value != desk:
        window.actions_by_id.run(f"desk_{desk}")
    window.docks.show(pane)
    qapp.processEvents()  # the pane is seen and filled
    qapp.processEvents()  # and laid out
    assert window.width() == 1280
    assert cut_words(window.pane(pane)) == []
    assert sideways(window.pane(pane)) == []


@pytest.mark.parametrize("combiner", ["CB-A", "CB-B", "CB-C"])
def test_headings_of_the_heat_grid_are_whole_whatever_signatures_there_are(window, qapp, combiner):
    window.actions_by_id.run("desk_compare")
    choices, grid = window.session.choices, window.pane("heat_grid")
    newest = choices.visit.value
    for visit in window.session.visits:
        choices.visit.value = visit.name
        choices.combiner.value = combiner
        qapp.processEvents()
        assert cut_words(grid) == []
        if grid.model.columnCount() <= 8:
            assert sideways(grid) == [], "two kinds of signature have room"
    choices.visit.value = newest


def test_columns_of_the_heat_grid_are_equal_where_there_is_room(window, qapp):
    grid = window.pane("heat_grid")
    window.resize(1920, 1080)
    window.docks.share_out()
    qapp.processEvents()
    window.session.choices.combiner.value = "CB-A"
    qapp.processEvents()
    count = grid.model.columnCount()
    widths = [grid.view.columnWidth(column) for column in range(count)]
    window.resize(1280, 720)
    window.docks.share_out()
    qapp.processEvents()
    assert count > 6
    assert max(widths) - min(widths) <= 1
    assert cut_words(grid) == []


def test_names_of_the_rates_are_whole(window, qapp):
    window.actions_by_id.run("desk_years")
    view = window.pane("years").view
    for row in range(view.model().rowCount()):
        index = view.model().index(row, 0)
        need = view.fontMetrics().horizontalAdvance(index.data())
        assert need < view.columnWidth(0) - 4, index.data()


@pytest.mark.parametrize("desk", [one.id for one in DESKS])
def test_no_pane_takes_room_from_the_others(window, qapp, desk):
    """A tab brought to the front leaves the panes at the left and the plot as they were."""
    window.actions_by_id.run(f"desk_{desk}")
    qapp.processEvents()
    left = window.docks.by_id["strings"].width()
    for pane in next(one.panes for one in DESKS if one.id == desk):
        window.docks.show(pane)
        qapp.processEvents()
        assert window.docks.by_id["strings"].width() == left, pane


@pytest.mark.parametrize("pane", FLOATING, ids=lambda pane: pane.id)
def test_no_word_of_a_floating_pane_is_cut(window, qapp, pane):
    window.docks.show(pane.id)
    qapp.processEvents()
    found = cut_words(window.pane(pane.id))
    window.docks.by_id[pane.id].hide()
    assert found == []


@pytest.fixture
def two_visits(window, qapp):
    """A string on both visits, whose curves bear their day: the longest names of the example."""
    session = window.session
    same = [one.trace.source for one in session.all_results_of("CB-C")]
    same = [one for one in same if one.endswith("CB-C-S08.csv")]
    assert len(same) == 2
    session.selection.choose(same)
    qapp.processEvents()
    yield same
    session.choices.form.value = "measured"
    session.choices.panels.value = ("iv", "pv")
    session.selection.choose(same[-1:])
    window.look.theme.value = LIGHT


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("form", FORMS)
def test_the_readout_of_the_crosshair_is_whole(window, qapp, two_visits, form, theme):
    session = window.session
    window.look.theme.value = theme
    session.choices.form.value = form
    qapp.processEvents()
    for key in (Qt.Key.Key_Home, Qt.Key.Key_PageUp, Qt.Key.Key_PageUp, Qt.Key.Key_End):
        QTest.keyClick(window.plot.canvas, key)
        words = window.plot.readout.text()
        assert ", 20" in words
        assert "…" not in words
        assert ("predicted I" in words) == (form != "relative")
        assert cut_words(window.plot) == []


@pytest.mark.parametrize("desk", [one.id for one in DESKS])
@pytest.mark.parametrize("form", FORMS)
def test_labels_beside_three_panels_do_not_overlap(window, qapp, two_visits, form, desk):
    window.actions_by_id.run(f"desk_{desk}")
    window.session.choices.form.value = form
    window.session.choices.panels.value = tuple(PANELS)
    qapp.processEvents()
    axes = [one.plot.getAxis("left") for one in window.plot.canvas.panels.values()]
    assert len(axes) == len(PANELS)
    for axis, panel in zip(axes, window.plot.canvas.figure.panels, strict=True):
        words = QFontMetricsF(axis.label.font()).horizontalAdvance(axis.labelText)
        assert words <= axis.size().height()
        assert axis.labelText.endswith(f" ({panel.y_unit})" if panel.y_unit else "")
        assert axis.toolTip() in ("", with_unit(panel.y_label, panel.y_unit))


def test_a_label_without_room_is_told_by_the_axis_and_comes_back(window, qapp, two_visits):
    window.actions_by_id.run("desk_compare")
    window.session.choices.panels.value = tuple(PANELS)
    qapp.processEvents()
    axis = window.plot.canvas.panels["difference"].plot.getAxis("left")
    assert (axis.labelText, axis.toolTip()) == ("ΔI (A)", "ΔI, meas. − pred. (A)")
    window.session.choices.panels.value = ("difference",)
    qapp.processEvents()
    assert (axis.labelText, axis.toolTip()) == ("ΔI, meas. − pred. (A)", "")


def test_a_long_name_leaves_the_numbers_of_the_readout_whole(window, qapp, two_visits):
    known = window.plot.crosshair.show(window.plot.canvas.figure.panels[0].series[1], 100.0)
    long = replace(known, label="a visit/" + "a deep folder/" * 9 + "S1.csv")
    window.plot.readout.show_point(long, relative=False)
    assert "…" in window.plot.readout.text()
    assert window.plot.readout.text().endswith(" A")
    assert cut_words(window.plot) == []


def test_no_word_of_the_start_page_is_cut(window, qapp):
    page = window.middle.widget(0)
    window.middle.setCurrentWidget(page)
    qapp.processEvents()
    found = cut_words(page)
    window.middle.setCurrentIndex(1)
    assert found == []


@pytest.mark.parametrize("page", range(4))
def test_no_word_of_the_lesson_is_cut(window, qapp, page):
    window.lesson.open()
    window.lesson.pane.tabs.setCurrentIndex(page)
    qapp.processEvents()
    found = cut_words(window.lesson.pane)
    window.lesson.leave()
    assert found == []


def test_words_without_room_are_found(shown):
    label = shown(QLabel("quite a number of words"), 40, 20)
    button = QPushButton("Cancel everything", label)
    button.resize(20, 20)
    button.show()
    found = cut_words(label)
    assert len(found) == 1
    assert "Cancel everything" in found[0]
