"""Commands compute with built-in values unless a settings file is named, and say which."""

import json
import zipfile

import pytest

from viewer.analysis.conditions.condition_thresholds import ConditionThresholds
from viewer.app.command_line import COMMANDS, run
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.site_data.resource_folder import example_folder
from viewer.state.program.settings import Settings, settings_path, write_settings

EXAMPLE = str(example_folder())
MINE = Settings(
    uncertainties=InputUncertainties(irradiance=0.005),
    thresholds=ConditionThresholds(wind_speed=None, irradiance_for_power=1010.0),
    translation_procedure="4",
)
TOLD = (
    "Settings of mine.toml, other than the built-in values: Irradiance for a statement on power "
    "1010 W/m²; Wind off; Irradiance sensor 0.5 % (k = 1); procedure 4."
)
BY_DEFAULT = (
    "Settings: built-in values; the window's own settings are not used (--settings FILE gives "
    "others)."
)


@pytest.fixture(scope="module")
def mine(tmp_path_factory):
    path = tmp_path_factory.mktemp("settings") / "mine.toml"
    write_settings(path, MINE)
    return str(path)


def analysed(capsys, *options: str) -> list[dict]:
    capsys.readouterr()
    assert run(["analyze", EXAMPLE, "--json", "-", *options]) == 1
    return [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def test_a_named_file_decides_and_is_told_with_each_result(capsys, mine):
    usual, own = analysed(capsys), analysed(capsys, "--settings", mine)
    assert usual[0]["settings"] == {"file": None}
    assert own[0]["settings"] == {
        "file": mine,
        "thresholds": {"wind_speed": "off", "irradiance_for_power": 1010.0},
        "uncertainties": {"irradiance": 0.005},
        "translation_procedure": 4,
    }
    for before, after in zip(usual, own, strict=True):
        if before["power_ratio"] is None:
            continue
        assert after["power_ratio"] == pytest.approx(before["power_ratio"], rel=1e-9)
        assert after["power_ratio_uncertainty"] < before["power_ratio_uncertainty"]
        assert "procedure 4" in after["translation"]
    failed = {one["check"] for one in own[0]["conditions"]["checks"] if not one["passed"]}
    assert "irradiance for power" in failed


def test_an_option_goes_before_the_file(capsys, mine):
    own = analysed(capsys, "--settings", mine, "--procedure", "1")
    assert own[0]["settings"]["translation_procedure"] == 1
    assert "procedure 1" in own[0]["translation"]


def test_the_table_ends_with_what_was_taken(capsys, mine):
    assert run(["analyze", EXAMPLE]) == 1
    assert capsys.readouterr().out.splitlines()[-1] == BY_DEFAULT
    assert run(["analyze", EXAMPLE, "--settings", mine]) == 1
    assert capsys.readouterr().out.splitlines()[-1] == TOLD


def test_the_windows_own_settings_are_never_taken(capsys, monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    write_settings(settings_path(), MINE)
    assert str(settings_path()).startswith(str(tmp_path))
    assert analysed(capsys)[0]["settings"] == {"file": None}


@pytest.mark.parametrize("command", ["trend", "sample", "warranty", "worst", "mismatch"])
def test_commands_about_a_site_take_and_tell_them(capsys, mine, command):
    run([command, EXAMPLE, "--quiet", "--json", "-", "--settings", mine])
    assert json.loads(capsys.readouterr().out)["settings"]["file"] == mine
    run([command, EXAMPLE])
    assert capsys.readouterr().out.splitlines()[-1] == BY_DEFAULT


def test_an_evidence_pack_carries_them_with_each_result(capsys, mine, tmp_path):
    pack = tmp_path / "p.zip"
    words = ["report", EXAMPLE, "--kind", "recommendations", "--pack", str(pack), "--quiet"]
    assert run([*words, "--settings", mine]) == 1
    assert run(["verify", str(pack)]) == 0
    with zipfile.ZipFile(pack) as archive:
        lines = archive.read("results.jsonl").decode().splitlines()
    told = [json.loads(line)["settings"] for line in lines]
    assert len(told) == len(analysed(capsys))
    assert all(one["file"] == mine for one in told)
    assert all(one["uncertainties"] == {"irradiance": 0.005} for one in told)


def test_an_uncertainty_given_as_an_option_is_told(capsys):
    run(["trend", EXAMPLE, "--irradiance-uncertainty", "1"])
    said = capsys.readouterr().out.splitlines()[-1]
    assert said == "Settings: built-in values, but for Irradiance sensor 0.5 % (k = 1)."


def test_good_hours_ask_for_the_thresholds_of_the_file(capsys, mine):
    day = ["--from", "2025-06-21", "--json"]
    assert run(["hours", EXAMPLE, *day, "--settings", mine]) == 0
    assert "1010 W/m²" in " ".join(json.loads(capsys.readouterr().out)["assumptions"])
    assert run(["hours", EXAMPLE, *day, "--settings", mine, "--least", "300"]) == 0
    assert "300 W/m²" in " ".join(json.loads(capsys.readouterr().out)["assumptions"])


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("not toml", "is not valid TOML"),
        ("[uncertainties]\nirradiance = 7", "must lie from 0 to 0.2"),
        ("short = 1", "is not known"),
        (None, "cannot be read"),
    ],
)
def test_a_file_of_no_use_is_refused_in_one_sentence(capsys, tmp_path, text, words):
    path = tmp_path / "bad.toml"
    if text is not None:
        path.write_text(text)
    assert run(["analyze", EXAMPLE, "--settings", str(path)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert len(err.splitlines()) == 1
    assert words in err
    assert "bad.toml" in err


def test_help_says_that_the_windows_settings_are_not_used(capsys):
    assert run(["--help"]) == 0
    assert "--settings FILE" in capsys.readouterr().out
    for command in ("analyze", "trend", "sample", "warranty", "worst", "mismatch", "report"):
        assert command in COMMANDS
        with pytest.raises(SystemExit):
            run([command, "--help"])
        assert "never the window's own settings" in " ".join(capsys.readouterr().out.split())
