"""`curvewright translate`, `parameters` and `datasheet` on one module's own traces."""

import json
from pathlib import Path

import pytest

from tests.analysis.device.traced_module import true_points, write
from viewer.app.command_line import run
from viewer.reading.visits.visit_folder import open_visit_folder, read_source
from viewer.site_data.resource_folder import example_folder
from viewer.site_data.site_toml import read_site_toml

EXAMPLE = str(example_folder())
STRING = "CB-A/CB-A-S05"


@pytest.fixture
def bench(tmp_path: Path) -> str:
    return str(write(tmp_path / "bench"))


def data_of(words: list[str], tmp_path: Path, code: int = 0) -> dict:
    out = tmp_path / "out.json"
    assert run([*words, "--quiet", "--json", str(out)]) == code
    return json.loads(out.read_text(encoding="utf-8"))


def test_a_module_without_a_datasheet_is_translated_between_its_curves(bench, tmp_path, capsys):
    data = data_of(
        ["translate", bench, "--irradiance", "800", "--cell-temperature", "45"], tmp_path
    )
    (curve,) = data["curves"]
    assert curve["key_points"]["p_mp"] == pytest.approx(true_points(800, 45)["p_mp"], rel=4e-3)
    assert len(curve["traces"]) == 3
    assert run(["translate", bench]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert "At 1000 W/m² and 25.0 °C:" in lines
    assert any(line.startswith("between 3 traces") for line in lines)


def test_the_curve_is_written_as_a_trace_that_says_it_is_computed(bench, tmp_path):
    out = tmp_path / "there" / "module.csv"
    out.parent.mkdir()
    assert run(["translate", bench, "--irradiance", "800", "--out", str(out), "--quiet"]) == 0
    (trace,) = read_source(open_visit_folder(out.parent), out.name)
    assert trace.conditions.poa_global == 800.0
    assert trace.conditions.temperature_cell == 25.0
    assert trace.note.startswith("computed, not measured: IEC 60891:2021 procedure 3")
    assert float((trace.voltage * trace.current).max()) == pytest.approx(
        true_points(800, 25)["p_mp"], rel=4e-3
    )


def test_one_curve_goes_where_the_analysis_takes_it(tmp_path):
    """To standard conditions it is the translated curve of `analyze`, with its uncertainty."""
    (made,) = data_of(["translate", EXAMPLE, STRING, "--procedure", "2"], tmp_path)["curves"]
    out = tmp_path / "all.jsonl"
    assert run(["analyze", EXAMPLE, "--quiet", "--json", str(out)]) == 1
    lines = [json.loads(line) for line in out.read_text("utf-8").splitlines()]
    (analysed,) = [one for one in lines if [one["trace"]] == made["traces"]]
    assert made["key_points"] == pytest.approx(analysed["translated"], rel=1e-6)
    there = ["--irradiance", "600", "--cell-temperature", "50"]
    (other,) = data_of(["translate", EXAMPLE, STRING, "--procedure", "2", *there], tmp_path)[
        "curves"
    ]
    ratio = other["key_points"]["i_sc"] / made["key_points"]["i_sc"]
    assert ratio == pytest.approx(0.6 * (1 + 25 * 0.00048), rel=5e-3)
    assert other["uncertainty"]["p_mp"] < made["uncertainty"]["p_mp"]


def test_repeats_have_parameters_together_and_one_by_one(tmp_path, capsys):
    repeats = str(write(tmp_path / "repeats", ((900, 45), (903, 45.5), (898, 45.1))))
    each = data_of(["parameters", repeats], tmp_path)["fits"]
    (one,) = data_of(["parameters", repeats, "--together"], tmp_path)["fits"]
    assert [fit["fit"] for fit in each] == ["module_0.csv", "module_1.csv", "module_2.csv"]
    assert one["fit"] == "3 traces together, 900 W/m² and 45.2 °C"
    assert one["parameters"]["resistance_series"] == pytest.approx(0.3, abs=0.01)
    assert run(["parameters", repeats]) == 0
    assert "Series resistance (Ω)" in capsys.readouterr().out


def test_different_conditions_are_no_repeats(bench, capsys):
    assert run(["parameters", bench, "--together", "--quiet"]) == 2
    assert "450 to 1010 W/m²" in capsys.readouterr().err


def test_a_step_has_no_parameters_and_says_so(capsys):
    assert run(["parameters", EXAMPLE, "CB-C/CB-C-S08"]) == 0
    assert "No parameters are given: near" in capsys.readouterr().out


def test_a_datasheet_out_of_the_traces_goes_into_the_site_and_predicts_them(
    bench, tmp_path, capsys
):
    words = ["datasheet", bench, "--technology", "multi-Si", "--cells", "60", "--key", "M7"]
    assert run([*words, "--into", bench]) == 0
    assert "[module.M7]" in capsys.readouterr().out
    file = Path(bench) / "site.toml"
    (key,) = read_site_toml(file).layout.modules
    assert key == "M7"
    string = '{ name = "module", module = "M7", modules_in_series = 1 }'
    with file.open("a", encoding="utf-8") as stream:
        stream.write(f'\n[[combiner]]\nname = "bench"\nstring = [{string}]\n')
    out = tmp_path / "all.jsonl"
    assert run(["analyze", bench, "--quiet", "--json", str(out)]) == 0
    ratios = [json.loads(line)["power_ratio"] for line in out.read_text("utf-8").splitlines()]
    assert ratios == pytest.approx([1.0] * len(ratios), abs=0.004)
    assert run([*words, "--into", bench]) == 2
    assert "has a module M7 already" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["translate", EXAMPLE], "name one string as COMBINER/STRING: CB-A/CB-A-S01"),
        (["translate", EXAMPLE, "CB-A/X"], "there is no trace of CB-A/X; there are"),
        (["translate", EXAMPLE, STRING], "has one usable trace on 2025-06-first-year"),
        (["translate", EXAMPLE, STRING, "--visit", "1999"], "there is no visit 1999; known"),
        (["translate", EXAMPLE, STRING, "--irradiance", "0"], "is above 0 W/m²"),
        (["datasheet", EXAMPLE, STRING], "at least 3 usable traces"),
    ],
)
def test_what_cannot_be_done_is_one_line(words, said, capsys):
    assert run([*words, "--quiet"]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert said in line


def test_what_the_layout_does_not_know_must_be_given(bench, tmp_path, capsys):
    assert run(["datasheet", bench, "--quiet"]) == 2
    assert "give --technology" in capsys.readouterr().err
    words = ["translate", bench, "--procedure", "2", "--quiet"]
    assert run(words) == 2
    assert "there is no site.toml" in capsys.readouterr().err
    target = tmp_path / "nothing.csv"
    assert run(["translate", EXAMPLE, STRING, "--out", str(target), "--quiet"]) == 2
    assert not target.exists()
