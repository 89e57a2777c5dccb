import tomllib

import pytest

from viewer.app.command_line import run
from viewer.reading.visits.visit_folder import open_visit_folder, read_source
from viewer.site_data.module_library import module_named, search_modules
from viewer.site_data.scenario_file import scenarios


def test_list_names_every_scenario_with_its_range(capsys):
    assert run(["simulate", "--list"]) == 0
    said = capsys.readouterr().out
    for scenario in scenarios().values():
        assert scenario.key in said
        assert scenario.severity.label in said


def test_a_visit_is_written_that_reads_back(tmp_path, capsys):
    folder = tmp_path / "visit"
    words = ["simulate", "shorted_bypass", "--out", str(folder), "--severity", "2"]
    assert run([*words, "--beside", "2", "--modules", "20"]) == 0
    assert "severity 2" in capsys.readouterr().out
    visit = open_visit_folder(folder)
    assert len(visit.sources) == 3
    traces = [read_source(visit, source)[0] for source in visit.sources]
    v_oc = [max(trace.voltage) for trace in traces]
    # Two of 60 groups are gone.
    assert v_oc[2] / max(v_oc[:2]) == pytest.approx(58 / 60, abs=0.008)
    assert "Simulated, not measured. Scenario shorted_bypass." in traces[2].note
    assert traces[0].note == "Simulated, not measured."
    layout = tomllib.loads((folder / "site.toml").read_text())
    assert layout["combiner"][0]["string"][0]["modules_in_series"] == 20


def test_the_same_seed_writes_the_same_files(tmp_path):
    texts = []
    for name, seed in (("a", "5"), ("b", "5"), ("c", "6")):
        run(["simulate", "dead_cell", "--out", str(tmp_path / name), "--seed", seed])
        (file,) = (tmp_path / name / "CB-1").glob("*.csv")
        texts.append(file.read_text())
    assert texts[0] == texts[1] != texts[2]


def test_hidden_scenarios_are_not_named_in_the_files(tmp_path):
    assert run(["simulate", "dead_cell", "--out", str(tmp_path / "x"), "--hide"]) == 0
    files = [one for one in (tmp_path / "x").rglob("*.*") if one.is_file()]
    assert {one.suffix for one in files} == {".toml", ".csv"}
    for file in files:
        assert "dead_cell" not in file.read_text()


def test_cells_that_do_not_divide_are_put_in_fewer_groups(tmp_path, capsys):
    name = next(one for one in search_modules("solar", 10**6) if _cells(one) == 128)
    assert run(["simulate", "hard_shade", "--out", str(tmp_path / "x"), "--module", name]) == 0
    assert "128 cells do not divide into 3 groups: simulated with 2" in capsys.readouterr().err


def _cells(name):
    return module_named(name).datasheet.cells_in_series


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "name a scenario"),
        (["fog", "--out", "x"], "there is no scenario fog"),
        (["healthy"], "--out FOLDER"),
        (["healthy", "--out", "x", "--modules", "0"], "--modules lies from 1 to 200, not 0"),
        (["healthy", "--out", "x", "--irradiance", "0"], "--irradiance lies between"),
        (["healthy", "--out", "x", "--cell-temperature", "400"], "--cell-temperature lies"),
        (["healthy", "--out", "x", "--module", "Nonsense_300"], "no module 'Nonsense_300'"),
        (["healthy", "--out", "x", "--measured-at", "noon"], "not a time such as"),
        (["missing.toml", "--out", "x"], "missing.toml cannot be read"),
    ],
)
def test_wrong_words_are_answered_in_one_line(words, said, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert run(["simulate", *words]) == 2
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1
    assert not list(tmp_path.iterdir())


def test_a_folder_with_something_in_it_is_left_alone(tmp_path, capsys):
    (tmp_path / "mine.txt").write_text("x")
    assert run(["simulate", "healthy", "--out", str(tmp_path)]) == 2
    assert "not empty" in capsys.readouterr().err
    assert len(list(tmp_path.iterdir())) == 1
