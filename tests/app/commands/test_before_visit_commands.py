"""Commands used before a visit: limits, hours, sheet, expect."""

import csv
import json
from pathlib import Path

import pypdf
import pytest

from viewer.app.command_line import run
from viewer.state.program.settings import Settings, write_settings

SITE = """
name = "Invented"
[location]
latitude = 40.0
longitude = -3.0
altitude = 600.0
timezone = "Europe/Madrid"
[mounting]
tilt = 25.0
azimuth = 180.0
[module.M]
technology = "mono-Si"
i_sc = 10.0
v_oc = 48.0
i_mp = 9.5
v_mp = 40.0
alpha_sc = 0.05
beta_voc = -0.28
gamma_pmp = -0.36
cells_in_series = 72
[[combiner]]
name = "C1"
  [[combiner.string]]
  name = "S1"
  module = "M"
  modules_in_series = 20
  [[combiner.string]]
  name = "S2"
  module = "M"
  modules_in_series = 20
"""


@pytest.fixture
def site(tmp_path: Path) -> str:
    (tmp_path / "site.toml").write_text(SITE, encoding="utf-8")
    return str(tmp_path)


def test_limits_table_and_cautions(site: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["limits", site, "--lowest", "-20", "--equipment", "1000"]) == 0
    said = capsys.readouterr().out
    assert "EXCEEDS: Voc 1132.8 V exceeds the equipment's rating of 1000 V" in said
    assert "qualified" in said
    assert "safe" not in said.lower()


def test_limits_json(site: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["limits", site, "--lowest", "-20", "--meter-volts", "1500", "--json"]) == 0
    (box,) = json.loads(capsys.readouterr().out)
    assert box["i_sc_sum"] == pytest.approx(25.0)
    assert box["strings"][0]["limits"][0]["state"] == "within"


def test_hours_of_a_day_and_a_year(site: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["hours", site, "--from", "2025-06-21"]) == 0
    assert "2025-06-21" in capsys.readouterr().out
    assert run(["hours", site, "--from", "2025-01-01", "--to", "2025-12-31"]) == 0
    chart = capsys.readouterr().out
    assert "Jun" in chart
    assert "Dec" in chart


def test_hours_without_mounting_says_what_to_add(
    site: str, capsys: pytest.CaptureFixture[str]
) -> None:
    file = Path(site, "site.toml")
    text = file.read_text(encoding="utf-8").replace(
        "[mounting]\ntilt = 25.0\nazimuth = 180.0\n", ""
    )
    file.write_text(text, encoding="utf-8")
    assert run(["hours", site, "--from", "2025-06-21"]) == 2
    assert "add tilt and azimuth" in capsys.readouterr().err


def test_sheet_files_follow_the_asked_order(site: str, tmp_path: Path) -> None:
    sheet, paper = tmp_path / "sheet.csv", tmp_path / "sheet.pdf"
    words = ["sheet", site, "--cell-temperature", "45", "--csv", str(sheet), "--pdf", str(paper)]
    assert run([*words, "--string", "C1", "S2", "--string", "C1", "S1", "--lowest", "-20"]) == 0
    rows = list(csv.DictReader(sheet.open(encoding="utf-8")))
    assert [row["string"] for row in rows] == ["S2", "S1"]
    assert paper.read_bytes().startswith(b"%PDF")


def test_sheet_names_an_unknown_string(site: str, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["sheet", site, "--cell-temperature", "45", "--string", "C1", "S9"]
    assert run(words) == 2
    assert "no string S9 in combiner C1" in capsys.readouterr().err


def test_expect_counts_a_missing_group(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["expect", "--module", "Aleo_Solar_P19Y305", "--modules", "3", "--irradiance", "800"]
    assert run([*words, "--cell-temperature", "40", "--v-oc", "100"]) == 0
    assert "1 bypass group missing" in capsys.readouterr().out


def test_expect_json_with_curve(site: str, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["expect", site, "C1", "S1", "--irradiance", "1000", "--cell-temperature", "25"]
    assert run([*words, "--points", "50", "--json"]) == 0
    made = json.loads(capsys.readouterr().out)
    assert made["predicted"]["p_mp"] == pytest.approx(20 * 380, rel=1e-3)
    assert len(made["curve"]) == 50
    assert 0.02 < made["uncertainty"]["p_mp"] / made["predicted"]["p_mp"] < 0.06
    assert run(words) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].endswith("expect (± k = 2)")
    assert [line.count(" ± ") for line in lines[1:7]] == [1] * 6


@pytest.fixture
def settings(tmp_path: Path) -> str:
    """As the window exports them: 900 V and 8 A are below what the strings can give."""
    path = tmp_path / "mine.toml"
    kept = Settings(
        meter_name="T-7",
        meter_volts=900.0,
        meter_amps=8.0,
        meter_category="CAT III",
        lowest_temperature=-25.0,
        equipment_volts=1000.0,
    )
    write_settings(path, kept)
    return str(path)


def test_limits_take_the_ratings_of_a_settings_file(site, settings, capsys):
    assert run(["limits", site, "--settings", settings]) == 0
    said = capsys.readouterr().out
    assert "exceeds the rating of the measuring set T-7 of 900 V" in said
    assert "exceeds the equipment's rating of 1000 V" in said
    told = "With the settings of mine.toml: lowest temperature -25 °C, equipment 1000 V, "
    assert told + "the measuring set T-7 900 V, 8 A, CAT III." in said
    v_oc = run_json(capsys, "limits", site, "--settings", settings)[0]["v_oc_max"]
    same = run_json(capsys, "limits", site, "--lowest", "-25")[0]["v_oc_max"]
    assert v_oc == same


def test_an_option_wins_over_the_settings_file(site, settings, capsys):
    options = ("--meter-volts", "1010", "--meter-name", "my tracer", "--lowest", "0")
    assert run(["limits", site, "--settings", settings, *options]) == 0
    said = capsys.readouterr().out
    assert "the rating of my tracer of 1010 V" in said
    assert "900 V" not in said
    assert "the rating of my tracer of 8 A" in said
    assert "lowest temperature 0 °C" in said


def test_ratings_that_are_not_given_are_not_held_against(site, tmp_path, capsys):
    path = tmp_path / "none.toml"
    write_settings(path, Settings(meter_volts=0.0, meter_amps=0.0))
    assert run(["limits", site, "--settings", str(path)]) == 0
    said = capsys.readouterr().out
    assert "the measuring set without ratings" in said
    assert "rating of the measuring set" not in said


def test_the_sheet_prints_the_ratings_of_a_settings_file(site, settings, tmp_path, capsys):
    paper = tmp_path / "sheet.pdf"
    words = ["sheet", site, "--cell-temperature", "45", "--pdf", str(paper)]
    assert run([*words, "--settings", settings]) == 0
    assert "With the settings of mine.toml" in capsys.readouterr().out
    text = " ".join(pypdf.PdfReader(paper).pages[0].extract_text().split())
    assert "the rating of the measuring set T-7 of 900 V" in text


def run_json(capsys, *words: str) -> list[dict]:
    capsys.readouterr()
    assert run([*words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["limits", "/nowhere", "--lowest", "0"], "There is no folder /nowhere."),
        (["limits", "/nowhere"], "--lowest or --settings FILE"),
        (["limits", "/nowhere", "--settings", "/nowhere/s.toml"], "cannot be read"),
        (["expect", "--module", "Nobody", "--irradiance", "800"], "no module"),
        (["expect", "--irradiance", "800"], "name FOLDER COMBINER STRING"),
        (["expect", "--module", "Aleo_Solar_P19Y305", "--irradiance", "0"], "above 0 W/m²"),
    ],
)
def test_bad_input_is_one_line(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(words) == 2
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1


def test_usual_ratings_are_told_as_people_write_them(capsys):
    with pytest.raises(SystemExit):
        run(["limits", "--help"])
    assert "usually 600, 1000 or 1500" in " ".join(capsys.readouterr().out.split())
