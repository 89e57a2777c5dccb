"""What cannot be meant on the command line is refused before anything is computed from it."""

import argparse
from datetime import date
from pathlib import Path

import pytest

from tests.app.invented_site import write_site
from tests.app.running import command
from viewer.app.commands.argument_types import count, day, number, rating


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = write_site(tmp_path_factory.mktemp("site") / "visits", strings=1, years=(2020,))
    place = '[location]\nlatitude = 38.5\nlongitude = -3.5\ntimezone = "Europe/Madrid"\n'
    tilted = "[mounting]\ntilt = 25.0\nazimuth = 180.0\n"
    text = (made / "site.toml").read_text(encoding="utf-8")
    (made / "site.toml").write_text(text.replace("[module.A]", place + tilted + "[module.A]", 1))
    return made


@pytest.mark.parametrize(
    ("kind", "text", "said"),
    [
        (number(), "nan", "'nan' is not a number that can be meant"),
        (number(), "-inf", "'-inf' is not a number that can be meant"),
        (number(), "800,5", "'800,5' is not a number; the decimal mark is a point"),
        (number(0, 90), "91", "91 does not lie from 0 to 90"),
        (number(least=0), "-1", "-1 does not lie at or above 0"),
        (number(most=100), "101", "101 does not lie at or below 100"),
        (rating, "0", "a rating is above 0"),
        (count(2, 9), "1.5", "'1.5' is not a whole number"),
        (count(2, 9), "10", "10 does not lie from 2 to 9"),
        (day, "31.12.2025", "'31.12.2025' is not a date; write YYYY-MM-DD"),
    ],
)
def test_one_sentence_says_what_is_wrong(kind, text, said):
    with pytest.raises(argparse.ArgumentTypeError) as told:
        kind(text)
    assert str(told.value) == said


def test_what_can_be_meant_is_taken():
    assert number(-90, 120)("-12.5") == -12.5
    assert rating("1500") == 1500.0
    assert count(2, 9)("2") == 2
    assert day("2025-12-31") == date(2025, 12, 31)


@pytest.mark.parametrize(
    "words",
    [
        ("limits", "--lowest", "nan"),
        ("limits", "--lowest", "-300"),
        ("limits", "--lowest", "-10", "--meter-volts", "-1"),
        ("limits", "--lowest", "-10", "--equipment", "0"),
        ("sheet", "--irradiance", "nan", "--cell-temperature", "40"),
        ("sheet", "--irradiance", "800", "--cell-temperature", "1e5"),
        ("expect", "CB1", "S1", "--irradiance", "8e9", "--cell-temperature", "40"),
        ("expect", "CB1", "S1", "--irradiance", "800", "--cell-temperature", "-400"),
        ("expect", "CB1", "S1", "--irradiance", "9", "--cell-temperature", "4", "--v-oc", "nan"),
        ("hours", "--from", "2026-06-01", "--tilt", "400"),
        ("hours", "--from", "2026-06-01", "--least", "nan"),
        ("hours", "--from", "1.6.2026"),
        ("trend", "--irradiance-uncertainty", "nan"),
        ("sample", "--between", "-1"),
        ("read", "--tolerance", "nan"),
        ("report", "--kind", "yearly", "--date", "31.12.2025"),
    ],
)
def test_a_command_refuses_it(folder, words, capsys):
    with pytest.raises(SystemExit) as ended:
        command(words[0], folder, *words[1:])
    assert ended.value.code == 2
    assert "error: argument" in capsys.readouterr().err


@pytest.mark.parametrize(
    "days", [("9999-12-31",), ("0001-01-01",), ("2026-01-01", "--to", "2099-01-01")]
)
def test_good_hours_are_asked_for_days_that_can_be_computed(folder, days, capsys):
    assert command("hours", folder, "--from", *days) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith("curvewright hours: ")


def test_a_severity_that_is_no_number_is_refused(tmp_path):
    with pytest.raises(SystemExit):
        command("simulate", "dead_cell", "--out", tmp_path / "s", "--severity", "nan")
