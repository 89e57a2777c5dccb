from dataclasses import replace

import pytest
from PySide6.QtWidgets import QFileDialog

from viewer.state.program.settings import Settings
from viewer.widgets.program.settings_pane import SettingsPane


@pytest.fixture
def pane(shown, session, look):
    return shown(SettingsPane(session, look), 560, 600)


def test_controls_and_settings_follow_each_other(pane, session):
    pane.controls["short_below"].setValue(0.9)
    assert session.settings.value.short_below == pytest.approx(0.9)
    session.settings.value = replace(session.settings.value, grid_range=25.0)
    assert pane.controls["grid_range"].value() == 25.0


def test_a_lower_limit_changes_what_counts_as_short(pane, session):
    assert session.row("2025/C1/S2.csv").standing.level == "short"
    pane.controls["short_below"].setValue(0.5)
    assert session.row("2025/C1/S2.csv").standing.level == "watch"


def test_settings_travel_by_a_file_and_the_layout_stays_at_home(
    pane, session, tmp_path, monkeypatch
):
    path = tmp_path / "mine.toml"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(path), ""))
    session.settings.value = replace(
        session.settings.value, short_below=0.8, window_layout="here", recent_folders=("/a",)
    )
    pane.export_file()
    assert "window_layout" not in path.read_text(encoding="utf-8")
    pane.reset()
    assert session.settings.value.short_below == Settings().short_below
    assert session.settings.value.window_layout == "here"
    pane.import_file()
    assert session.settings.value.short_below == 0.8
    assert session.settings.value.recent_folders == ("/a",)


def test_a_file_that_is_no_settings_costs_a_sentence(pane, session, tmp_path, monkeypatch):
    path = tmp_path / "odd.toml"
    path.write_text("flavour = 3", encoding="utf-8")
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(path), ""))
    pane.import_file()
    assert "'flavour' is not known" in session.message.value


def test_every_control_has_a_name_for_screen_readers(pane):
    assert set(pane.controls) >= {"theme", "short_below", "watch_below", "grid_range"}
    assert all(one.accessibleName() for one in pane.controls.values())


def test_a_threshold_entered_here_is_computed_with(pane, session):
    boxes = pane.groups["thresholds"].boxes
    boxes["irradiance_drift"].setValue(5.0)
    assert session.settings.value.thresholds.irradiance_drift == pytest.approx(0.05)
    assert session.opener.inputs.thresholds.irradiance_drift == pytest.approx(0.05)
    boxes["wind_speed"].setValue(boxes["wind_speed"].minimum())
    assert session.settings.value.thresholds.wind_speed is None
    assert boxes["wind_speed"].text() == "off"
    pane.groups["uncertainties"].boxes["temperature_cell"].setValue(2.0)
    assert session.inputs.uncertainties.temperature_cell == 2.0
    pane.reset()
    assert session.inputs == Settings().analysis_inputs


def test_every_assumption_shows_its_source(pane):
    for group in pane.groups.values():
        assert all("Source: " in box.toolTip() for box in group.boxes.values())
