from dataclasses import replace

import numpy as np
import pytest

from viewer.physics.cell_string.group_states import GroupState
from viewer.physics.cell_string.severity_fit import MeasuredCurve, fit_severity
from viewer.site_data.site_layout import StringLayout
from viewer.state.lesson.lesson import IRRADIANCE, MOST_KEPT, TEMPERATURE, Lesson
from viewer.state.lesson.lesson_pair import LessonPair
from viewer.state.lesson.lesson_strings import LessonString
from viewer.state.lesson.string_view import ABSENT, next_change, string_view

LAYOUT = StringLayout("S1", "LESSON-HC", 12)


@pytest.fixture
def lesson():
    return Lesson()


class Listener:
    def __init__(self, notifier):
        self.heard = 0
        notifier.connect(self.hear)

    def hear(self, *_):
        self.heard += 1


def test_every_scenario_gives_a_curve_at_both_ends_of_every_slider(lesson):
    for string in lesson.strings.value:
        lesson.string.value = string
        for key, scenario in lesson.scenarios.items():
            lesson.choose(key)
            for share in (0.0, 1.0):
                extent = scenario.extent.at_share(share) if scenario.extent else None
                lesson.change(
                    severity=scenario.severity.at_share(share),
                    extent=extent,
                    poa_global=IRRADIANCE.at_share(share),
                    temperature_cell=TEMPERATURE.at_share(share),
                )
                assert lesson.problem == ""
                assert np.isfinite(lesson.simulated.current).all()
                assert lesson.simulated.scenario.key == key


def test_a_change_is_told_once_and_an_equal_one_not_at_all(lesson):
    listener = Listener(lesson.renewed)
    lesson.change(severity=70.0)
    lesson.change(severity=70.0)
    assert listener.heard == 1
    assert lesson.simulated.severity == 70.0


def test_settings_are_held_to_their_ranges(lesson):
    lesson.change(severity=1e9, extent=2.4, poa_global=-5.0)
    now = lesson.setting.value
    assert now.severity == now.scenario.severity.highest
    assert now.extent == 2.0
    assert now.poa_global == IRRADIANCE.lowest


def test_another_scenario_keeps_sun_and_temperature(lesson):
    lesson.change(poa_global=640.0, temperature_cell=31.0)
    lesson.choose("dead_cell")
    assert (lesson.simulated.poa_global, lesson.simulated.temperature_cell) == (640.0, 31.0)
    assert lesson.simulated.severity == lesson.scenarios["dead_cell"].severity.start


def test_a_wrong_sensor_moves_what_is_expected_and_not_the_string(lesson):
    lesson.choose("healthy")
    healthy = lesson.simulated
    lesson.choose("wrong_irradiance_reading")
    lesson.change(severity=10.0)
    at = np.interp(healthy.voltage, lesson.simulated.voltage, lesson.simulated.current)
    assert at == pytest.approx(healthy.current, abs=1e-3 * healthy.current[0])
    assert lesson.expected.poa_global == pytest.approx(990.0)


def test_the_cursor_stays_at_maximum_power_until_it_is_moved(lesson):
    lesson.change(severity=30.0)
    power = lesson.simulated.voltage * lesson.simulated.current
    assert power[lesson.point] == power.max()
    lesson.point_to(0)
    assert lesson.cursor.value == pytest.approx(0.0, abs=1e-6)
    lesson.change(severity=80.0)
    assert lesson.point == 0


def test_kept_curves_get_letters_of_their_own_and_free_them(lesson):
    for _ in range(MOST_KEPT):
        assert lesson.keep() is not None
    assert lesson.keep() is None
    assert [one.tag for one in lesson.kept.value] == list("ABCDE")
    lesson.drop(1)
    assert lesson.keep().tag == "B"
    for kept in lesson.kept.value:
        lesson.drop(kept.slot)
    assert lesson.kept.value == ()


def test_shaded_groups_conduct_below_their_current_and_are_bypassed_above(lesson):
    """Kirchhoff: what the cells cannot carry goes through the bypass diode."""
    lesson.change(severity=60.0, extent=3.0)
    sim = lesson.simulated
    able = 0.4 * float(sim.current[0])
    above = string_view(sim, sim.point_at_current(able * 1.3))
    below = string_view(sim, sim.point_at_current(able * 0.8))
    assert above.count(GroupState.BYPASSED) == 3
    assert below.count(GroupState.CONDUCTING) == above.state.size
    chosen = above.state == GroupState.BYPASSED
    carried = above.bypass_current[chosen]
    assert carried == pytest.approx(above.string_current - able, abs=0.03 * able)
    assert above.voltage[chosen] == pytest.approx(-0.5, abs=0.3)


def test_an_open_diode_drives_cells_backwards_and_heats_them(lesson):
    lesson.choose("open_bypass")
    view = string_view(lesson.simulated, 0)
    assert view.count(GroupState.REVERSE) >= 1
    module, group, heat = view.hottest()
    assert heat > 20.0
    assert view.state[module, group] == GroupState.REVERSE
    assert f"{heat:.0f} W in module {module + 1}, group {group + 1}" in view.sentence()
    assert "reverse-biased" in view.group_sentence(module, group)


def test_a_missing_module_is_absent(lesson):
    lesson.choose("missing_module")
    view = string_view(lesson.simulated, lesson.point)
    gone = np.flatnonzero((view.state == ABSENT).all(axis=1))
    assert len(gone) == lesson.simulated.severity
    assert "is missing" in view.group_sentence(int(gone[0]), 0)
    assert next_change(lesson.simulated, int(gone[0]), 0, 0) is None


def test_the_next_change_of_a_group_is_where_its_state_becomes_another(lesson):
    sim = lesson.simulated
    view = string_view(sim, 0)
    module, group = map(int, np.argwhere(view.state == GroupState.BYPASSED)[0])
    point = next_change(sim, module, group, 0)
    assert string_view(sim, point).state[module, group] != GroupState.BYPASSED
    assert string_view(sim, point - 1).state[module, group] == GroupState.BYPASSED
    conducting = map(int, np.argwhere(view.state == GroupState.CONDUCTING)[0])
    assert next_change(sim, *conducting, 0) is None


def test_a_fit_can_be_taken_into_the_lesson(lesson):
    string = lesson.strings.value[1]
    lesson.string.value = string
    lesson.choose("dead_cell")
    sim = lesson.simulated
    measured = MeasuredCurve(sim.voltage, sim.current, 900.0, 50.0)
    fit = fit_severity(lesson.scenarios["dead_cell"], measured, string.makeup)
    lesson.choose("healthy")
    listener = Listener(lesson.renewed)
    lesson.take(fit, string)
    assert listener.heard >= 1
    assert lesson.simulated.scenario.key == "dead_cell"
    assert lesson.simulated.severity == pytest.approx(55.0, abs=1.5)
    assert lesson.string.value is string


def test_two_sides_keep_settings_of_their_own_and_share_sun_and_string(lesson):
    pair = LessonPair(lesson)
    lesson.change(poa_global=500.0)
    pair.change(0, severity=1e9)
    shade, dead = pair.simulated(0), pair.simulated(1)
    assert shade.poa_global == dead.poa_global == 500.0
    assert shade.severity == shade.scenario.severity.highest
    assert dead.scenario.key == "dead_cell"
    pair.choose(0, "corroded_connector")
    pair.choose(0, "dead_cell")
    assert pair.sides[0].value.extent == lesson.scenarios["dead_cell"].extent.start
    pair.choose(1, "open_bypass")
    assert pair.sides[1].value.extent == 3.0


def test_a_string_of_the_site_is_offered_and_stays_while_it_is_used(lesson):
    titles = [one.title for one in lesson.strings.value]
    sheet = lesson.strings.value[0].datasheet
    one, other = (LessonString(name, sheet, 12, layout=LAYOUT) for name in ("C1 S1", "C1 S2"))
    lesson.offer(one)
    lesson.choose_string(one)
    lesson.offer(other)
    assert [each.title for each in lesson.strings.value] == [*titles, "C1 S1", "C1 S2"]
    lesson.choose_string(lesson.strings.value[0])
    lesson.offer(None)
    assert [each.title for each in lesson.strings.value] == titles


def test_a_string_that_cannot_be_simulated_is_refused_in_words(lesson):
    before = lesson.string.value
    bad = LessonString("C1 S9", replace(before.datasheet, i_mp=99.0), 12, layout=LAYOUT)
    lesson.choose_string(bad)
    assert lesson.string.value is before
    assert lesson.problem.startswith("C1 S9 cannot be simulated:")
    lesson.change(severity=12.0)
    assert lesson.problem == ""
