import numpy as np
import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QLabel

from viewer.physics.cell_string.group_states import GroupState
from viewer.state.lesson.string_view import string_view
from viewer.widgets.lesson.lesson_pane import NOTICE, NOTICE_MEASURED, LessonPane
from viewer.widgets.lesson.lesson_size import BIG


@pytest.fixture
def pane(shown, session, look):
    return shown(LessonPane(session, look), 1200, 720)


def drawn(plot):
    """The lines that are drawn, in order."""
    return [line.getData() for line in plot._lines if line.getData()[0] is not None]


def legend(plot):
    return [label.text for _, label in plot._legend.items]


def test_the_curve_moves_with_each_slider(pane):
    lesson, page = pane.lesson, pane.explore
    sliders = (page.knobs.severity, page.knobs.extent, page.irradiance, page.temperature)
    for slider in sliders:
        before = drawn(page.plot)[-1][1].copy()
        slider.slider.setValue(slider.slider.maximum() - 3)
        after = drawn(page.plot)[-1]
        assert not np.array_equal(after[1], before)
        assert np.array_equal(after[1], lesson.simulated.current)
    assert lesson.simulated.poa_global == page.irradiance.value()


def test_the_box_and_the_slider_agree(pane):
    knob = pane.explore.knobs.severity
    knob.box.setValue(35.0)
    assert pane.lesson.simulated.severity == 35.0
    assert knob.slider.value() == pytest.approx(35.0 / 95.0 * knob.slider.maximum(), abs=1)
    assert knob.value() == 35.0


def test_choosing_a_scenario_brings_its_sliders_and_words(pane):
    page = pane.explore
    place = page.scenario.findData("corroded_connector")
    page.scenario.setCurrentIndex(place)
    page.scenario.activated.emit(place)
    scenario = pane.lesson.scenarios["corroded_connector"]
    assert page.knobs.severity.label.text() == scenario.severity.label
    assert page.knobs.extent is None
    assert page.summary.text() == scenario.summary
    assert scenario.reasons[0] in page.reasons.text()
    assert legend(page.plot) == ["healthy, as predicted", scenario.name]


def test_kept_curves_stay_with_letter_and_name_until_dropped(pane, qtbot):
    page = pane.explore
    qtbot.mouseClick(page.keep, Qt.MouseButton.LeftButton)
    kept = pane.lesson.simulated.current
    pane.lesson.choose("dead_cell")
    assert legend(page.plot)[1] == "A  Hard shade on bypass groups"
    assert np.array_equal(drawn(page.plot)[1][1], kept)
    assert page.plot._tags[1].isVisible()
    assert len(drawn(page.plot)) == 3
    pane.lesson.drop(0)
    assert legend(page.plot) == ["healthy, as predicted", "Dead or cracked cells"]
    assert not page.plot._tags[2].isVisible()
    assert not page.kept.isVisible()


def test_the_letter_of_a_kept_curve_grows_with_all_else_for_a_class(pane):
    pane.explore.keep.click()
    letter = next(one for one in pane.explore.kept.findChildren(QLabel) if ">A<" in one.text())
    usual = letter.font().pointSizeF()
    pane.lesson.big.value = True
    assert letter.font().pointSizeF() == pytest.approx(BIG * usual)


def test_the_button_says_how_a_presentation_ends(pane):
    assert pane.present.text() == "Presentation"
    pane.present.click()
    assert pane.present.text() == "End presentation"
    assert pane.lesson.big.value
    pane.present.click()
    assert pane.present.text() == "Presentation"


def test_settings_below_zero_have_a_minus_sign(pane):
    pane.lesson.choose("wrong_temperature_reading")
    pane.explore.knobs.severity.box.setValue(-4.0)
    pane.explore.keep.click()
    assert "error of the reading −4 K" in pane.lesson.kept.value[0].text


def test_one_of_what_a_knob_counts_is_no_plural(pane, qtbot):
    pane.lesson.choose("dead_cell")
    knob = pane.explore.knobs.extent
    assert knob.box.text() == "1 group"
    knob.slider.setValue(knob.slider.value() + 1)
    assert knob.box.text() == "2 groups"
    knob.box.lineEdit().selectAll()
    qtbot.keyClicks(knob.box, "12")
    assert (knob.box.text(), knob.value()) == ("12 groups", 12.0)
    knob.show_value(1.0)
    assert knob.box.text() == "1 group"
    pane.lesson.choose("hard_shade")
    assert pane.explore.knobs.severity.box.text().endswith(" %")


def click_plot(qtbot, plot, voltage, current):
    place = plot.mapFromScene(plot.getViewBox().mapViewToScene(QPointF(voltage, current)))
    qtbot.mouseClick(plot.viewport(), Qt.MouseButton.LeftButton, pos=place)


def test_a_click_on_the_plot_moves_the_cursor_and_the_schematic(pane, qtbot):
    page, sim = pane.explore, pane.lesson.simulated
    click_plot(qtbot, page.plot, float(sim.voltage[-1]) * 0.97, 2.0)
    assert page.schematic.view.count(GroupState.BYPASSED) == 0
    click_plot(qtbot, page.plot, float(sim.voltage[-1]) * 0.5, 2.0)
    assert page.schematic.view.count(GroupState.BYPASSED) == 3
    assert "3 bypassed" in page.readout.text()
    before = pane.lesson.point
    qtbot.keyClick(page.plot, Qt.Key.Key_Right)
    assert pane.lesson.point == before + 1
    assert page.plot._upright.value() == pane.lesson.simulated.voltage[before + 1]


def test_a_click_on_a_group_moves_the_cursor_to_where_it_changes(pane, qtbot):
    page, sim = pane.explore, pane.lesson.simulated
    bypassed = np.argwhere(string_view(sim, 0).state == GroupState.BYPASSED)[0]
    module, group = (int(one) for one in bypassed)
    place = page.schematic.places().group_boxes[module][group].center().toPoint()
    qtbot.mouseClick(page.schematic, Qt.MouseButton.LeftButton, pos=place)
    point = pane.lesson.point
    assert string_view(sim, point).state[module, group] == GroupState.CONDUCTING
    assert string_view(sim, point - 1).state[module, group] == GroupState.BYPASSED
    assert page.plot._upright.value() == sim.voltage[point]
    assert f"Module {module + 1}, group {group + 1}" in page.readout.text()


def test_the_schematic_can_be_walked_with_the_keyboard(pane, qtbot):
    schematic = pane.explore.schematic
    for _ in range(4):
        qtbot.keyClick(schematic, Qt.Key.Key_Right)
    assert schematic.accessibleDescription().startswith("Module 2, group 2")
    with qtbot.waitSignal(schematic.chosen) as said:
        qtbot.keyClick(schematic, Qt.Key.Key_Return)
    assert said.args == [1, 1]
    qtbot.keyClick(schematic, Qt.Key.Key_Down)
    assert schematic._at[0] == 1 + schematic.places().columns


def test_every_group_of_the_string_has_a_place_of_its_own(pane):
    schematic = pane.explore.schematic
    modules, groups = schematic.view.state.shape
    assert (modules, groups) == (28, 3)
    for module in range(modules):
        for group in range(groups):
            box = schematic.places().group_boxes[module][group]
            assert schematic.group_at(box.center()) == (module, group)
            assert schematic.rect().contains(box.toAlignedRect())


def test_states_differ_in_paint_without_their_colours(pane, look):
    """Grey levels alone must tell a hatched, a full and a plain group apart."""
    pane.lesson.choose("open_bypass")
    pane.lesson.point_to(0)
    schematic = pane.explore.schematic
    picture = schematic.grab().toImage()
    view = schematic.view

    def greys(module, group):
        box = schematic.places().group_boxes[module][group].toAlignedRect().adjusted(4, 18, -4, -4)
        return [
            QColor(picture.pixel(x, y)).lightness()
            for x in range(box.left(), box.right())
            for y in range(box.top(), box.bottom())
        ]

    reverse = [int(one) for one in np.argwhere(view.state == GroupState.REVERSE)[0]]
    conducting = [int(one) for one in np.argwhere(view.state == GroupState.CONDUCTING)[0]]
    pane.lesson.choose("hard_shade")
    plain, full = np.array(greys(*conducting)), np.array(greys(*reverse))
    assert plain.std() == 0
    assert abs(np.median(full) - np.median(plain)) > 60
    picture = schematic.grab().toImage()
    bypassed = [int(one) for one in np.argwhere(schematic.view.state == GroupState.BYPASSED)[0]]
    assert np.array(greys(*bypassed)).std() > 20


def test_side_by_side_shows_both_and_what_tells_them_apart(pane):
    page = pane.compare
    pane.show_page(page)
    names = [side.pair.sides[side.side].value.scenario.key for side in page.sides]
    assert names == ["hard_shade", "dead_cell"]
    for side, key in zip(page.sides, names, strict=True):
        told = pane.lesson.scenarios[key].telling_apart
        assert side.answers["Does it move with the sun?"].text() == told.moves_with_sun
        assert side.answers["Does it vanish when cleaned?"].text() == told.vanishes_when_cleaned
        assert len(drawn(side.plot)) == 2
    before = drawn(page.sides[1].plot)[1][1].copy()
    page.sides[1].knobs.severity.box.setValue(20.0)
    assert not np.array_equal(drawn(page.sides[1].plot)[1][1], before)
    left = page.sides[0]
    place = left.chooser.findData("soft_shade")
    left.chooser.setCurrentIndex(place)
    left.chooser.activated.emit(place)
    told = pane.lesson.scenarios["soft_shade"].telling_apart
    assert left.answers["Does it move with the sun?"].text() == told.moves_with_sun


def test_presentation_makes_letters_and_lines_larger_and_escape_ends_it(pane, qtbot, qapp):
    page = pane.explore
    width = page.plot._lines[1].opts["pen"].widthF()
    letters = page.summary.fontInfo().pointSizeF()
    qtbot.mouseClick(pane.present, Qt.MouseButton.LeftButton)
    assert pane.lesson.big.value
    assert page.plot._lines[1].opts["pen"].widthF() == pytest.approx(width * BIG)
    assert page.summary.fontInfo().pointSizeF() > 1.5 * letters
    assert not pane.back.isVisible()
    pane.explore.scenario.setFocus()
    qtbot.keyClick(pane.explore.scenario, Qt.Key.Key_Escape)
    assert not pane.lesson.big.value
    qapp.processEvents()
    assert page.plot._lines[1].opts["pen"].widthF() == pytest.approx(width)


def test_it_says_that_nothing_was_measured_except_where_something_was(pane):
    assert pane.notice.text() == NOTICE
    pane.show_page(pane.explain)
    assert pane.notice.text() == NOTICE_MEASURED
    pane.show_page(pane.quiz)
    assert pane.notice.text() == NOTICE
