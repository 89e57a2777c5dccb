"""`curvewright translate`, `parameters` and `datasheet` on one module's own traces."""

import json
from pathlib import Path

import pytest

from tests.analysis.device.traced_module import traced, true_points, write
from viewer.app.command_line import run
from viewer.reading.visits.visit_folder import open_visit_folder, read_source
from viewer.reports.device_tables import value_and_spread
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
    assert run(["parameters", EXAMPLE, "CB-C-S08"]) == 2
    told = capsys.readouterr()
    assert "No parameters are given: near" in told.out
    assert told.err.endswith("no sweep has parameters of a single diode; the table says why\n")


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
        (["translate", EXAMPLE, "CB-B/X"], "there is no trace of CB-B/X; traced are CB-B/CB-B-S01"),
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
    assert "bench/module has; give --technology and --cells" in capsys.readouterr().err
    words = ["translate", bench, "--procedure", "2", "--quiet"]
    assert run(words) == 2
    assert "there is no site.toml" in capsys.readouterr().err
    target = tmp_path / "nothing.csv"
    assert run(["translate", EXAMPLE, STRING, "--out", str(target), "--quiet"]) == 2
    assert not target.exists()


def test_a_computed_curve_is_written_over_nothing_and_not_among_the_measured(
    bench, tmp_path, capsys
):
    measured = Path(bench) / "module_0.csv"
    before = measured.read_bytes()
    words = ["translate", bench, "--quiet", "--out"]
    assert run([*words, str(measured)]) == 2
    assert "exists already" in capsys.readouterr().err
    assert measured.read_bytes() == before
    assert run([*words, f"{bench}/more/stc.csv"]) == 2
    assert "would count as a measured trace" in capsys.readouterr().err


def test_a_datasheet_without_a_key_is_refused(bench, capsys):
    with pytest.raises(SystemExit) as ended:
        run(["datasheet", bench, "--key", " "])
    assert ended.value.code == 2
    assert "a module's key is a word" in capsys.readouterr().err


def test_files_that_may_be_the_strings_and_could_not_be_read_are_named(bench, capsys):
    (Path(bench) / "module_3.csv").write_text("", encoding="utf-8")
    assert run(["parameters", bench, "--quiet"]) == 1
    (line,) = capsys.readouterr().err.splitlines()
    assert "module_3.csv is empty" in line


def test_files_of_other_strings_are_not(capsys):
    assert run(["parameters", EXAMPLE, STRING, "--quiet"]) == 0
    assert capsys.readouterr().err == ""


def test_traces_of_different_modules_under_one_name_are_doubted(bench, capsys):
    odd = traced(450, 30, 5)
    rows = "".join(
        f"{1.2 * v:.4f},{0.8 * i:.4f}\n" for v, i in zip(odd.voltage, odd.current, strict=True)
    )
    file = Path(bench) / "module_5.csv"
    head = file.read_text(encoding="utf-8").partition("voltage,current\n")
    file.write_text("".join(head[:2]) + rows, encoding="utf-8")
    assert run(["parameters", bench, "--quiet"]) == 0
    current, voltage = capsys.readouterr().err.splitlines()
    assert "Isc for its irradiance differs by 2" in current
    assert "Voc for its temperature differs by " in voltage


def test_a_string_without_a_combiner_has_its_own_name_only(bench, tmp_path):
    for file in Path(bench).glob("*.csv"):
        file.write_text(file.read_text("utf-8").replace("# combiner: bench\n", ""), "utf-8")
    assert data_of(["parameters", bench, "module"], tmp_path)["string"] == "module"


@pytest.mark.parametrize(
    ("value", "spread", "said"),
    [
        (2594.3, 531.2, "2594 ± 531"),
        (0.29312, 0.00371, "0.2931 ± 0.0037"),
        (2.644e-10, 4.51e-11, "(2.64 ± 0.45)e-10"),
        (9.54321, 0.00142, "9.5432 ± 0.0014"),
        (9.5, 0.0997, "9.50 ± 0.10"),
        (9.5, float("nan"), "9.5 ± –"),
    ],
)
def test_a_value_is_told_as_far_as_it_is_known(value, spread, said):
    assert value_and_spread(value, spread) == said
