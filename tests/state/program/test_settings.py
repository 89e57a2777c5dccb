from dataclasses import fields, replace

import pytest

from viewer.analysis.conditions.condition_thresholds import ConditionThresholds
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.state.program.assumptions import GROUPS
from viewer.state.program.settings import (
    SCHEMA_VERSION,
    Settings,
    as_toml,
    from_toml,
    read_settings,
    write_settings,
)


def test_only_what_differs_is_written():
    assert as_toml(Settings()).strip() == f"schema_version = {SCHEMA_VERSION}"
    text = as_toml(replace(Settings(), theme="dark"))
    assert 'theme = "dark"' in text
    assert "short_below" not in text


def test_settings_survive_being_written_and_read(tmp_path):
    settings = (
        replace(Settings(), theme="dark", short_below=0.9).with_recent("/a").with_recent("/b")
    )
    path = tmp_path / "deep" / "settings.toml"
    write_settings(path, settings)
    assert read_settings(path) == (settings, ())
    assert settings.recent_folders == ("/b", "/a")


def test_no_file_gives_the_defaults_without_complaint(tmp_path):
    assert read_settings(tmp_path / "none.toml") == (Settings(), ())


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ('theme = "pink"', "must be one of system, light, dark"),
        ("short_below = 3.0", "must lie from 0.5 to 1.0"),
        ('short_below = "much"', "must be like 0.95"),
        ("styled_curves = true", "must be like 6"),
        ("flavour = 1", "is not known"),
        ("theme = ", "not valid TOML"),
    ],
)
def test_an_entry_that_cannot_be_used_costs_one_sentence_and_its_default(text, part):
    settings, problems = from_toml(text)
    assert settings == Settings()
    assert len(problems) == 1
    assert part in problems[0]


def test_a_whole_number_is_taken_where_a_decimal_is_meant():
    settings, problems = from_toml("grid_range = 20")
    assert settings.grid_range == 20.0
    assert problems == ()


def test_bytes_that_are_no_text_are_told(tmp_path):
    path = tmp_path / "settings.toml"
    path.write_bytes(b"\xff\xfe\x00\x80")
    settings, problems = read_settings(path)
    assert settings == Settings()
    assert str(path) in problems[0]


def test_every_setting_says_what_it_means():
    assert all(one.metadata["title"] and one.metadata["meaning"] for one in fields(Settings))


def test_recent_folders_are_bounded_and_without_repetition():
    settings = Settings()
    for number in range(20):
        settings = settings.with_recent(f"/{number % 10}")
    assert len(settings.recent_folders) == len(set(settings.recent_folders)) == 8
    assert settings.recent_folders[0] == "/9"


def test_assumptions_travel_as_tables_of_what_differs():
    settings = replace(
        Settings(),
        thresholds=replace(ConditionThresholds(), incidence_angle=30.0, wind_speed=None),
        uncertainties=replace(InputUncertainties(), irradiance=0.02),
        equipment_volts=1000.0,
        meter_category="CAT III",
    )
    text = as_toml(settings)
    assert "[thresholds]" in text
    assert 'wind_speed = "off"' in text
    assert "irradiance_drift" not in text
    assert from_toml(text) == (settings, ())


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("[thresholds]\nincidence_angle = 200", 'from 0 to 90, or be "off"'),
        ("[thresholds]\nincidence_angle = true", "not at True"),
        ("[thresholds]\nrain = 1", "thresholds.rain is not known"),
        ('[uncertainties]\nirradiance = "off"', "from 0 to 0.2, not at 'off'"),
        ("thresholds = 3", "must be like"),
    ],
)
def test_an_assumption_that_cannot_be_used_costs_one_sentence(text, part):
    settings, problems = from_toml(text)
    assert settings == Settings()
    assert len(problems) == 1
    assert part in problems[0]


def test_every_assumption_of_the_analysis_can_be_edited_and_its_default_lies_within_limits():
    for group, record in (
        ("thresholds", ConditionThresholds()),
        ("uncertainties", InputUncertainties()),
    ):
        assert {one.name for one in GROUPS[group]} == {one.name for one in fields(record)}
        for one in GROUPS[group]:
            assert one.least <= getattr(record, one.name) <= one.most
            assert one.source
