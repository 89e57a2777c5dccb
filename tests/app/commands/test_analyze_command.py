"""`curvewright analyze` on good folders, bad ones and none."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from viewer.app.command_line import run
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.reports.trace_tables import open_tables
from viewer.site_data.resource_folder import example_folder
from viewer.site_data.site_file.connection import create_site_file, open_site_file
from viewer.site_data.site_file.importing import ImportedFile, import_files
from viewer.site_data.site_file.layout_rows import read_layout
from viewer.site_data.site_file.trace_rows import read_traces

KEYS = {
    "trace",
    "combiner",
    "string",
    "measured_at",
    "status",
    "problem",
    "conditions",
    "measured",
    "predicted",
    "translated",
    "power_ratio",
    "power_ratio_uncertainty",
    "signatures",
    "candidate_causes",
}

SITE = """
name = "Invented"
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
  modules_in_series = 2
"""
HEAD = "# combiner: C1\n# string: {string}\n# measured_at: 2025-06-01T12:00:00+02:00\n"
CONDITIONS = "# poa_global: 1000\n# temperature_cell: 25\n"
POINTS = """voltage,current
0.0,10.0
20.0,9.95
40.0,9.9
60.0,9.85
70.0,9.75
76.0,9.65
80.0,9.5
84.0,9.0
88.0,7.5
92.0,4.7
96.0,0.0
"""


def _folder(tmp_path: Path, **files: str) -> Path:
    (tmp_path / "site.toml").write_text(SITE, encoding="utf-8")
    for name, text in files.items():
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    return tmp_path


def _objects(folder: Path, tmp_path: Path) -> tuple[int, list[dict]]:
    file = tmp_path / "out.jsonl"
    code = run(["analyze", str(folder), "--json", str(file), "--quiet"])
    assert file.is_file(), "no objects were written"
    return code, [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]


def test_example_gives_one_object_a_trace(tmp_path: Path) -> None:
    code, objects = _objects(example_folder(), tmp_path)
    files = sorted(
        path.relative_to(example_folder()).as_posix() for path in example_folder().rglob("*.csv")
    )
    assert sorted(one["trace"] for one in objects) == files
    assert code == 1
    assert [one["status"] for one in objects].count("unreadable") == 1
    assert all(set(one) >= KEYS for one in objects)
    for one in objects:
        if one["status"] == "ok":
            assert set(one["measured"]) == set(KEY_POINT_NAMES)
            assert 0.5 < one["power_ratio"] < 1.1
            assert one["translated"]["p_mp"] > 0
            assert one["conditions"]["checks"]


def test_values_of_a_short_string(tmp_path: Path) -> None:
    folder = _folder(tmp_path, a=HEAD.format(string="S1") + CONDITIONS + POINTS)
    code, (one,) = _objects(folder, tmp_path)
    assert code == 0
    assert one["predicted"]["p_mp"] == pytest.approx(760.0, rel=1e-3)
    assert one["measured"]["p_mp"] == pytest.approx(760.0, rel=1e-2)
    assert one["measured"]["i_sc"] == pytest.approx(10.0, rel=5e-3)
    assert one["measured"]["v_oc"] == pytest.approx(96.0, rel=2e-3)


def test_what_is_missing_is_said_and_not_invented(tmp_path: Path) -> None:
    folder = _folder(
        tmp_path,
        nowhere=HEAD.format(string="S9") + CONDITIONS + POINTS,
        dark=HEAD.format(string="S1") + POINTS,
    )
    code, objects = _objects(folder, tmp_path)
    assert code == 0
    dark, nowhere = objects
    assert dark["predicted"]["p_mp"] is None
    assert any("no irradiance was recorded" in said for said in dark["missing"])
    assert dark["measured"]["p_mp"] == pytest.approx(760.0, rel=1e-2)
    assert any("does not list string S9" in said for said in nowhere["missing"])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        (HEAD.format(string="S1") + "voltage,current\n1.0,2.0\n", "point"),
        (HEAD.format(string="S1") + "voltage,current\n0,10\n10,ten\n20,9\n30,8\n", "line 6"),
        (HEAD.format(string="S1") + "amps,current\n0,10\n10,9\n20,8\n", "voltage"),
    ],
)
def test_a_bad_file_leaves_the_others_alone(tmp_path: Path, text: str, said: str) -> None:
    folder = _folder(tmp_path, good=HEAD.format(string="S1") + CONDITIONS + POINTS, bad=text)
    code, objects = _objects(folder, tmp_path)
    assert code == 1
    bad = next(one for one in objects if one["trace"] == "bad.csv")
    assert bad["status"] == "unreadable"
    assert said in bad["problem"]
    assert "bad.csv" in bad["problem"]
    assert next(one for one in objects if one["trace"] == "good.csv")["status"] == "ok"


def test_nothing_to_do_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for folder in (tmp_path, tmp_path / "nowhere"):
        assert run(["analyze", str(folder)]) == 2
        assert capsys.readouterr().err.count("\n") == 1


def test_all_unreadable_is_exit_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = _folder(tmp_path, bad="")
    assert run(["analyze", str(folder)]) == 2
    assert "could be read as a trace: 1 file tried" in capsys.readouterr().err


def test_nothing_readable_and_no_site_is_still_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "bad.csv").write_text("voltage,current\n1,2\n", encoding="utf-8")
    assert run(["analyze", str(tmp_path)]) == 2
    said = capsys.readouterr()
    assert said.err.count("\n") == 1
    assert "bad.csv" in said.out


def test_malformed_site_is_told_and_traces_still_shown(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = _folder(tmp_path, a=HEAD.format(string="S1") + CONDITIONS + POINTS)
    (folder / "site.toml").write_text("[module.M\n", encoding="utf-8")
    assert run(["analyze", str(folder)]) == 0
    said = capsys.readouterr()
    assert "site.toml" in said.err
    assert "line 1" in said.err
    assert "No prediction" in said.out


def test_json_to_a_folder_that_is_not_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = _folder(tmp_path, a=HEAD.format(string="S1") + CONDITIONS + POINTS)
    assert run(["analyze", str(folder), "--json", str(tmp_path / "no" / "x"), "--quiet"]) == 2
    assert "could not be written" in capsys.readouterr().err


@pytest.mark.parametrize("procedure", ["1", "4"])
def test_another_procedure_of_translation(tmp_path: Path, procedure: str) -> None:
    folder = _folder(tmp_path, a=HEAD.format(string="S1") + CONDITIONS + POINTS)
    file = tmp_path / "out.jsonl"
    words = ["analyze", str(folder), "--json", str(file), "--quiet", "--procedure", procedure]
    assert run(words) == 0
    (one,) = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    assert f"procedure {procedure} " in one["translation"]


def test_of_files_that_hold_the_same_bytes_one_is_counted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = HEAD.format(string="S1") + CONDITIONS + POINTS
    folder = _folder(tmp_path, a=text, b10=text, b2=text, c=text + "100.0,-4.0\n")
    assert run(["analyze", str(folder)]) == 0
    told = capsys.readouterr()
    (line,) = [line for line in told.err.splitlines() if "same bytes" in line]
    assert "a.csv and b2.csv, b10.csv hold the same bytes: only a.csv is counted." in line
    assert told.out.splitlines()[-3].startswith("2 traces, ")
    assert len(open_tables(folder).traces) == 2


def test_a_site_file_counts_copies_once_those_that_it_has_stored_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = HEAD.format(string="S1") + CONDITIONS + POINTS
    folder = _folder(tmp_path, a=text, b=text)
    file = tmp_path / "x.curvewright"
    assert run(["import", str(folder), str(file)]) == 0
    told = capsys.readouterr()
    assert "a.csv and b.csv hold the same bytes: only a.csv is counted." in told.err
    assert told.out.startswith("1 trace stored")
    with open_site_file(file) as site_file:
        (stored,) = [one for _, one in read_traces(site_file)]
        both = (stored, replace(stored, source="b.csv"))
        layout = read_layout(site_file)
    old = tmp_path / "old.curvewright"
    with create_site_file(old) as site_file:
        files = [ImportedFile(one.source, text.encode(), (one,)) for one in both]
        import_files(site_file, layout, files, folder="f", program_version="0")
    assert run(["analyze", str(old)]) == 0
    told = capsys.readouterr()
    assert "a.csv and b.csv hold the same bytes" in told.err
    assert "\n1 trace, " in told.out
    assert run(["site", str(old), "files", str(tmp_path / "out")]) == 0
    assert sorted(one.name for one in (tmp_path / "out").glob("*.csv")) == ["a.csv", "b.csv"]


def test_what_reading_noticed_is_listed_and_each_file_is_named_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    odd = HEAD.format(string="S1") + "# poa_global: much\n# temperature_cell: 25\n" + POINTS
    folder = _folder(tmp_path, a=odd, b="nothing of use")
    assert run(["analyze", str(folder)]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert "  a.csv: Line 4: poa_global is 'much', not a number; it was left out." in lines
    assert "1 trace, 0 with findings, 1 not readable" in lines
    (bad,) = [line for line in lines if line.startswith("  b.csv")]
    assert bad.count("b.csv") == 1


def test_what_was_noticed_in_many_files_is_told_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    head = HEAD.format(string="S1") + CONDITIONS
    files = {name: f"{head}# operator: {name}\n{POINTS}" for name in "abc"}
    assert run(["analyze", str(_folder(tmp_path, **files))]) == 0
    said = [line for line in capsys.readouterr().out.splitlines() if "operator" in line]
    assert said == [
        "  a.csv and 2 other traces: This key is none of the format and was not used: 'operator'."
    ]
