import math
from dataclasses import replace
from datetime import timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor

from viewer.analysis.results.trace_result import Signature
from viewer.state.session import Arrival
from viewer.widgets.controls.theme import DARK, LIGHT
from viewer.widgets.strings.heat_grid import HeatGrid
from viewer.widgets.strings.heat_grid_cells import cell_colour
from viewer.widgets.strings.heat_grid_model import DEVIATION, percent


@pytest.fixture
def grid(shown, session, look):
    return shown(HeatGrid(session, look), 1000, 400)


def test_every_cell_prints_its_value(grid, session):
    model = grid.model
    assert model.rowCount() == 4
    for row in range(4):
        result = session.result(model.trace_of(row))
        assert model.index(row, 0).data() == f"{result.measured.i_sc:.3f}"
        assert model.index(row, 4).data() == f"{result.measured.p_mp:.1f}"
        wanted = 100 * (result.power_ratio - 1)
        assert model.index(row, 4).data(DEVIATION) == pytest.approx(wanted)


def test_the_reference_can_be_switched(grid, session):
    before = grid.model.index(1, 4).data(DEVIATION)
    session.choices.grid_reference.value = "median"
    after = grid.model.index(1, 4).data(DEVIATION)
    assert after == pytest.approx(before, abs=1.5)
    assert after != before
    assert "median" in grid.basis.text()


def test_choosing_a_string_elsewhere_turns_to_its_combiner(grid, session):
    session.selection.choose(["2025/C2/S3.csv"])
    assert grid.combiner.currentData() == "C2"
    rows = {index.row() for index in grid.view.selectedIndexes()}
    assert [grid.model.trace_of(row) for row in rows] == ["2025/C2/S3.csv"]


def test_a_click_on_any_cell_selects_its_string(grid, session, qtbot):
    box = grid.view.visualRect(grid.model.index(3, 2))
    qtbot.mouseClick(grid.view.viewport(), Qt.MouseButton.LeftButton, pos=box.center())
    assert session.selection.ids == ("2025/C1/S4.csv",)


def test_a_click_on_the_name_of_a_string_selects_it(grid, session, qtbot):
    header = grid.view.verticalHeader()
    y = header.sectionViewportPosition(2) + 5
    box = header.viewport().rect()
    qtbot.mouseClick(
        header.viewport(), Qt.MouseButton.LeftButton, pos=box.topLeft().__class__(10, y)
    )
    assert session.selection.ids == ("2025/C1/S3.csv",)


def test_the_colours_diverge_and_end_at_full_range():
    for theme in (LIGHT, DARK):
        assert cell_colour(0.0, 10, theme) == QColor(theme.level_with)
        assert cell_colour(-10.0, 10, theme) == QColor(theme.below)
        assert cell_colour(-50.0, 10, theme) == QColor(theme.below)
        assert cell_colour(10.0, 10, theme) == QColor(theme.above)
        assert cell_colour(math.nan, 10, theme) == QColor(theme.base)


def test_a_painted_cell_has_its_colour(grid, session):
    picture = grid.view.viewport().grab().toImage()
    box = grid.view.visualRect(grid.model.index(1, 4))
    deviation = grid.model.index(1, 4).data(DEVIATION)
    place = box.topLeft()
    seen = picture.pixelColor(place.x() + 4, place.y() + 4)
    wanted = cell_colour(deviation, 10.0, LIGHT)
    difference = max(
        abs(a - b) for a, b in zip(seen.getRgb()[:3], wanted.getRgb()[:3], strict=True)
    )
    assert difference <= 2


@pytest.mark.parametrize(
    ("deviation", "text"),
    [(-4.46, "−4.5 %"), (0.04, "±0.0 %"), (-0.04, "±0.0 %"), (12.0, "+12.0 %"), (math.nan, "–")],
)
def test_percent_has_a_sign(deviation, text):
    assert percent(deviation) == text


def test_cells_say_in_words_what_they_mean(grid):
    words = grid.model.index(1, 4).data(Qt.ItemDataRole.AccessibleTextRole)
    assert words.startswith("S2: Pmp ")
    assert " W, −" in words


def test_the_model_obeys_qt(grid, qtmodeltester):
    qtmodeltester.check(grid.model, force_py=True)


def test_suspects_first_moves_the_rows_and_a_signature_gets_a_column(grid, session):
    short = session.result("2025/C1/S2.csv")
    stair = Signature("step", 0.4, "of i_sc", "One group at 0.4.", {"loss": 100.0})
    session.take([Arrival(results=(replace(short, signatures=(stair,)),))])
    model = grid.model
    assert model.columnCount() == 7
    heading = model.headerData(6, Qt.Orientation.Horizontal, Qt.ItemDataRole.DisplayRole)
    assert heading == "Steps"
    assert model.index(1, 6).data() == "−100 W"
    assert model.index(1, 6).data(Qt.ItemDataRole.ToolTipRole) == "One group at 0.4."
    assert model.index(0, 6).data() == ""
    grid.suspects_first.setChecked(True)
    assert model.trace_of(0) == "2025/C1/S2.csv"
    assert model.index(0, 6).data(DEVIATION) < 0


def test_rows_of_one_string_and_day_tell_their_time(grid, session):
    one = session.result("2025/C1/S2.csv")
    at = one.trace.measured_at + timedelta(minutes=95)
    again = replace(one.trace, source="2025/C1/S2_again.csv", measured_at=at)
    session.take([Arrival(results=(replace(one, trace=again),))])
    model = grid.model
    names = [model.headerData(row, Qt.Orientation.Vertical) for row in range(model.rowCount())]
    assert names == ["S1", f"S2, {one.trace.measured_at:%H:%M}", f"S2, {at:%H:%M}", "S3", "S4"]
    said = model.index(2, 0).data(Qt.ItemDataRole.AccessibleTextRole)
    assert said.startswith(f"S2, {at:%H:%M}: Isc ")
