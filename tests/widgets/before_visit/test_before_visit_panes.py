"""Panes for before a visit and for the moment at the string."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from PySide6.QtGui import QFontMetrics
from pytestqt.qtbot import QtBot

from viewer.analysis.conditions.condition_thresholds import ConditionThresholds
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import Combiner, Location, Mounting, SiteLayout, StringLayout
from viewer.site_data.text_catalogue import texts
from viewer.state.session import Arrival, Session
from viewer.state.visit_opening import open_site
from viewer.widgets.before_visit.expect_pane import ExpectPane
from viewer.widgets.before_visit.hours_pane import FIRST_HOUR, LAST_HOUR, HourChart, HoursPane
from viewer.widgets.before_visit.limits_pane import HEADINGS, LimitsPane
from viewer.widgets.controls.theme import Look, figures_font

MODULE = Datasheet("M", "mono-Si", 10.0, 48.0, 9.5, 40.0, 0.05, -0.28, -0.36, 72)
LAYOUT = SiteLayout(
    "Invented",
    {"M": MODULE},
    (
        Combiner("C1", (StringLayout("S1", "M", 20), StringLayout("S2", "gone", 20))),
        Combiner("C2", (StringLayout("S1", "M", 3),)),
    ),
    Location(40.0, -3.0, 600.0, "Europe/Madrid"),
    Mounting(25.0, 180.0),
)


@pytest.fixture
def session(qtbot: QtBot) -> Session:
    made = Session(open_site)
    made.take([Arrival(layout=LAYOUT)])
    return made


def test_expected_values_follow_what_is_typed(shown: Callable[..., Any], session: Session) -> None:
    pane = shown(ExpectPane(session, Look(session.settings)))
    pane.irradiance.setValue(1000)
    pane.temperature.setValue(22.0)
    assert pane.values["v_oc"].text() == "960.00 V"
    assert pane.values["i_sc"].text() == "10.000 A"
    pane.irradiance.setValue(500)
    assert pane.values["i_sc"].text().startswith("4.99")
    assert len(pane._line.getData()[0]) == 120


def test_measured_voltage_counts_missing_groups(
    shown: Callable[..., Any], session: Session
) -> None:
    pane = shown(ExpectPane(session, Look(session.settings)))
    pane.combiner.setCurrentIndex(1)
    pane.irradiance.setValue(1000)
    pane.temperature.setValue(22.0)
    pane.measured.setValue(144.0 - 16.0)
    assert "1 bypass group missing" in pane.said.text()


def test_string_without_datasheet_says_so(shown: Callable[..., Any], session: Session) -> None:
    pane = shown(ExpectPane(session, Look(session.settings)))
    pane.string.setCurrentIndex(1)
    assert "no model of module gone" in pane.said.text()
    assert pane.values["v_oc"].text() == "–"


def test_limits_in_words(shown: Callable[..., Any], session: Session) -> None:
    pane = shown(LimitsPane(session, Look(session.settings)))
    pane.lowest.setValue(-20.0)
    last = len(HEADINGS) - 1
    boxes = (pane.meter_volts, pane.meter_amps, pane.combiner_amps)
    assert [box.text() for box in boxes] == ["V not given", "A not given", "A not given"]
    assert pane.table.item(0, 3).text() == "1081"
    assert pane.table.item(0, last).text() == "within equipment; measuring set not given"
    not_rated = texts()["limits"]["set_not_rated"]
    assert pane.said.toPlainText().startswith(not_rated)
    pane.meter_volts.setValue(1000)
    pane.meter_amps.setValue(10)
    assert not_rated not in pane.said.toPlainText()
    assert pane.table.item(0, last).text().startswith("EXCEEDS measuring set: 1133 of 1000 V")
    pane.name.setText("equipment tester")
    assert pane.table.item(0, last).text().startswith("EXCEEDS measuring set: 1133 of 1000 V")
    pane.meter_volts.setValue(1500)
    assert pane.table.item(0, last).text().startswith("EXCEEDS measuring set: 1")
    assert pane.table.item(0, last).text().endswith(" of 10.0 A")
    pane.meter_amps.setValue(30)
    assert pane.table.item(0, last).text() == "within"
    assert not pane.table.item(0, last).icon().isNull()
    assert "qualified" in pane.said.toPlainText()
    assert "safe" not in pane.said.toPlainText().lower()


def test_good_hours_of_two_days(qtbot: QtBot, session: Session) -> None:
    pane = HoursPane(session, Look(session.settings))
    qtbot.addWidget(pane)
    pane.first.setDate(pane.first.date().fromString("2025-06-21", "yyyy-MM-dd"))
    pane.last.setDate(pane.last.date().fromString("2025-06-22", "yyyy-MM-dd"))
    pane.compute.click()
    assert pane.chart.share[5, 14] == 1.0
    assert "2025-06-22" in pane.days.toPlainText()
    assert "clear sky" in pane.said.text().lower()


def test_without_a_place_the_sun_is_not_computed(qtbot: QtBot) -> None:
    session = Session(open_site)
    session.take([Arrival(layout=SiteLayout("Nowhere", {}, ()))])
    pane = HoursPane(session, Look(session.settings))
    qtbot.addWidget(pane)
    assert not pane.compute.isEnabled()
    assert "[location]" in pane.said.text()


def test_ratings_are_remembered_in_the_settings(
    shown: Callable[..., Any], session: Session
) -> None:
    pane = shown(LimitsPane(session, Look(session.settings)))
    pane.meter_volts.setValue(1200)
    pane.name.setText("Invented 1")
    pane.category.setText("CAT III")
    kept = session.settings.value
    assert (kept.meter_volts, kept.meter_name, kept.meter_category) == (
        1200.0,
        "Invented 1",
        "CAT III",
    )
    again = shown(LimitsPane(session, Look(session.settings)))
    assert again.meter_volts.value() == 1200.0
    assert again.category.text() == "CAT III"
    session.settings.value = replace(kept, lowest_temperature=-30.0)
    assert pane.lowest.value() == again.lowest.value() == -30.0
    assert pane.table.item(0, 3).text() == again.table.item(0, 3).text()


def test_good_hours_ask_for_the_thresholds_of_the_settings(qtbot: QtBot, session: Session) -> None:
    pane = HoursPane(session, Look(session.settings))
    qtbot.addWidget(pane)
    assert pane.threshold.currentText() == "700 W/m² for power"
    assert pane.least_irradiance() == 700.0
    limits = ConditionThresholds(irradiance_for_power=650.0, incidence_angle=30.0)
    session.settings.value = replace(session.settings.value, thresholds=limits)
    assert pane.threshold.currentText() == "650 W/m² for power"
    assert "650 W/m²: from the settings" in pane.threshold.toolTip()
    assert pane.least_irradiance() == 650.0
    assert pane.incidence.value() == 30.0
    pane.incidence.setValue(20.0)
    session.settings.value = replace(session.settings.value, grid_range=5.0)
    assert pane.incidence.value() == 20.0
    off = ConditionThresholds(irradiance_for_power=None, irradiance_for_comparison=None)
    session.settings.value = replace(session.settings.value, thresholds=off)
    assert pane.threshold.currentText() == "any irradiance"
    assert pane.least_irradiance() == 0.0


def test_hours_and_months_have_room_for_their_words(qtbot: QtBot) -> None:
    chart = HourChart()
    qtbot.addWidget(chart)
    words = QFontMetrics(figures_font())
    columns = LAST_HOUR - FIRST_HOUR + 2
    assert chart.minimumWidth() >= columns * words.horizontalAdvance("May")
    assert chart.minimumHeight() >= 13 * words.height()
