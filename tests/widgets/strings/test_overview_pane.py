from dataclasses import replace

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor

from tests.invented_results import invented_layout
from viewer.site_data.site_layout import Location
from viewer.state.losses.cost_terms import CostTerms
from viewer.state.losses.site_losses import Losses, losses_of
from viewer.state.session import Arrival
from viewer.widgets.strings.overview_pane import COST, ENERGY, OverviewPane, losses_text


@pytest.fixture
def pane(shown, session, look):
    made = shown(OverviewPane(session, look), 1100, 420)
    made.redraw()
    return made


def click(qtbot, pane, row, column, modifier=Qt.KeyboardModifier.NoModifier):
    view = pane.canvas.getPlotItem().vb
    scene = view.mapViewToScene(QPointF(column + 0.5, row + 0.5))
    place = pane.canvas.mapFromScene(scene)
    qtbot.mouseClick(pane.canvas.viewport(), Qt.MouseButton.LeftButton, modifier, place)


def test_rows_are_combiners_and_columns_string_positions(pane):
    grid = pane.canvas.grid
    assert grid.overview.combiners == ("C1", "C2")
    assert grid.shape == (2, 4)
    assert grid.string(0, 1) == "S2"


def test_the_short_string_is_the_strongest_colour_and_carries_a_mark(pane):
    grid = pane.canvas.grid
    worst = min((float(grid.colour[r, c]), r, c) for r in range(2) for c in range(4))
    assert worst[1:] == (0, 1)
    assert pane.canvas.words._worst[0].tolist() == [0, 1]
    assert float(grid.text(0, 1)) < 0.9


def test_a_click_selects_the_string_everywhere_and_ctrl_adds(qtbot, pane, session):
    click(qtbot, pane, 1, 2)
    assert session.current.trace.string == "S3"
    assert session.current.trace.combiner == "C2"
    click(qtbot, pane, 0, 0, Qt.KeyboardModifier.ControlModifier)
    assert len(session.selection.ids) == 2


def test_arrow_keys_go_to_the_next_string(qtbot, pane, session):
    click(qtbot, pane, 0, 0)
    qtbot.keyClick(pane.canvas, Qt.Key.Key_Right)
    qtbot.keyClick(pane.canvas, Qt.Key.Key_Down)
    assert (session.current.trace.combiner, session.current.trace.string) == ("C2", "S2")


def test_a_selection_made_elsewhere_is_framed(pane, session):
    session.selection.choose([pane.canvas.grid.traces[1][3]])
    assert pane.canvas.words.chosen == ((1, 3),)


def test_worst_strings_have_a_price_once_one_is_given(pane, session):
    layout = replace(invented_layout(), location=Location(40.0, -3.0))
    session.take([Arrival(layout=layout)])
    pane.redraw()
    assert [row.cells[0] for row in pane.rows.rows] == ["C1 S2"]
    assert pane.rows.rows[0].cells[COST] == ""
    assert pane.list.isColumnHidden(COST)
    assert not pane.list.isColumnHidden(ENERGY)
    pane.currency.setText("EUR")
    pane.price.setValue(0.25)
    pane.redraw()
    assert not pane.list.isColumnHidden(COST)
    energy, money = pane.rows.rows[0].cells[ENERGY], pane.rows.rows[0].cells[COST]
    assert money.endswith(" EUR")
    assert float(money.split()[0]) == pytest.approx(0.25 * float(energy), rel=0.01)
    assert session.settings.value.energy_currency == "EUR"
    assert "Clear-sky" in pane.said.toPlainText()


def test_without_a_location_no_energy_is_claimed(pane):
    assert pane.rows.rows[0].cells[ENERGY] == "–"
    assert pane.list.isColumnHidden(ENERGY)
    assert "location is not known" in pane.said.toPlainText()


def test_the_tip_of_a_row_and_the_sum_say_how_uncertain_the_loss_is(pane):
    (lost,) = (one.cost for one in pane.losses.found.worst)
    said = f"{lost.lost_at_stc:.0f} ± {lost.lost_at_stc_uncertainty:.0f} W"
    tip = pane.rows.index(0, 0).data(Qt.ItemDataRole.ToolTipRole)
    assert f"Lost at STC {said} (± for k = 2)" in tip
    assert f"Together, 1 string: {said} at STC (k = 2" in pane.said.toPlainText()


def test_a_typical_year_that_cannot_be_used_is_told(pane, session, tmp_path):
    file = tmp_path / "year.csv"
    file.write_text("poa_global\n1\n2\n")
    session.settings.value = replace(session.settings.value, typical_year=str(file))
    pane.redraw()
    assert "year.csv has 2 values" in pane.said.toPlainText()


def test_another_quantity_and_the_dark_theme_recolour(pane, look, session):
    pane.quantity.setCurrentIndex(pane.quantity.findData("i_sc_ratio"))
    pane.redraw()
    assert pane.canvas.grid.overview.quantity.name == "i_sc_ratio"
    session.settings.value = replace(session.settings.value, theme="dark")
    assert pane.canvas.image.image[0, 1, :3].tolist() != [255, 255, 255]
    assert QColor(look.theme.value.base) == pane.canvas.backgroundBrush().color()


def test_quantities_are_named_as_the_trade_does(pane):
    words = [pane.quantity.itemText(place) for place in range(pane.quantity.count())]
    assert "Isc over predicted" in words
    assert not [one for one in words if "_" in one]


def test_strings_without_a_prediction_are_not_called_sound():
    """A folder without site.toml has key points and nothing to hold them against."""
    assert losses_text(Losses((), 0, None, False, judged=False)).startswith("No string can be")
    assert "No string loses power" in losses_text(Losses((), 0, None, False))


def test_whether_anything_could_be_judged_is_worked_out(pane, session):
    known = session.results
    unknown = [replace(one, power_ratio=None) for one in known]
    terms = CostTerms(None, "", None, None)
    assert losses_of(known, None, None, terms).judged
    assert not losses_of(unknown, None, None, terms).judged
