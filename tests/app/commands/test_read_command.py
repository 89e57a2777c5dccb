"""`curvewright read`: exit codes, what is printed, what is written."""

import hashlib
import tomllib

import numpy as np
import pytest

from tests.reading.sweeps import CURRENT, POINTS, VOLTAGE, comma, lines
from viewer.app.command_line import run
from viewer.reading.file_reading import read_file
from viewer.reading.recipes.recipe_file import load_recipe
from viewer.state.importing.imported_visit import RECORD_NAME


@pytest.fixture
def folder(tmp_path):
    visit = tmp_path / "visit"
    for number in range(3):
        path = visit / f"CB{number}" / "S1.txt"
        path.parent.mkdir(parents=True)
        head = f"Datum;17.05.2024\nUhrzeit;10:1{number}:30\nU [mV];I [mA]\n"
        path.write_text(head + comma(lines("{v:.1f};{i:.2f}", (1e3, 1e3))))
    return visit


def test_files_are_read_and_kept_in_the_plain_format(folder, tmp_path, capsys):
    recipe, kept = tmp_path / "r.toml", tmp_path / "kept"
    words = ["read", str(folder), "--explain", "--save-recipe", str(recipe), "--into", str(kept)]
    assert run(words) == 0
    out = capsys.readouterr().out
    assert "3 traces from 3 files." in out
    assert "Column 1 'U' is the voltage: its name says so and its unit is mV." in out
    assert load_recipe(recipe).curves[0].current.unit == "mA"
    trace = read_file(kept / "CB1" / "S1_2024-05-17T101130.csv", "a").traces[0]
    np.testing.assert_allclose(trace.voltage, VOLTAGE, atol=1e-3)
    np.testing.assert_allclose(trace.current, CURRENT, atol=1e-4)
    assert run(["read", str(folder), "--recipe", str(recipe), "--quiet"]) == 0


def test_conditions_of_a_log_are_joined(folder, tmp_path, capsys):
    log = tmp_path / "log.csv"
    log.write_text("Timestamp;G\n2024-05-17 10:10:00;800\n2024-05-17 10:11:00;820\n")
    kept = tmp_path / "kept"
    assert run(["read", str(folder), "--log", str(log), "--into", str(kept)]) == 0
    assert "Traces without a reading of log.csv within 60 s: 2 of 3" in capsys.readouterr().err
    trace = read_file(kept / "CB0" / "S1_2024-05-17T101030.csv", "a").traces[0]
    assert trace.conditions.poa_global == pytest.approx(810.0)


def test_the_written_folder_keeps_a_record_and_is_not_written_twice(folder, tmp_path, capsys):
    """By the file's own bytes; the same record as the window's import writes."""
    kept = tmp_path / "kept"
    words = ["read", str(folder), "--into", str(kept)]
    assert run(words) == 0
    record = tomllib.loads((kept / RECORD_NAME).read_text(encoding="utf-8"))["trace"]
    assert [one["read_from"] for one in record] == [f"CB{k}/S1.txt" for k in range(3)]
    for one in record:
        raw = (folder / one["read_from"]).read_bytes()
        assert one["sha256"] == hashlib.sha256(raw).hexdigest()
        assert (kept / one["file"]).is_file()
    before = sorted(kept.rglob("*"))
    capsys.readouterr()
    assert run(words) == 0
    assert "kept already: 3 of 3" in capsys.readouterr().err
    assert sorted(kept.rglob("*")) == before
    assert tomllib.loads((kept / RECORD_NAME).read_text(encoding="utf-8"))["trace"] == record


def test_traces_are_not_written_among_the_files_they_were_read_from(folder, capsys):
    before = sorted(folder.rglob("*"))
    assert run(["read", str(folder), "--into", str(folder)]) == 2
    assert "each trace would be there twice" in capsys.readouterr().err
    assert sorted(folder.rglob("*")) == before


def test_a_failed_file_makes_the_exit_code_1_and_all_failed_2(folder, capsys):
    (folder / "bad.csv").write_text("V;I\n1;2\n")
    assert run(["read", str(folder), "--quiet"]) == 1
    assert "bad.csv holds one point" in capsys.readouterr().err
    assert run(["read", str(folder / "bad.csv"), "--quiet"]) == 2
    assert "no file could be read as a trace: 1 file tried" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (["--recipe", "nowhere.toml"], "nowhere.toml cannot be read"),
        (["--log", "nowhere.csv"], "nowhere.csv cannot be read"),
        (["--points", "a.doc"], "must end in one of"),
    ],
)
def test_what_cannot_be_done_is_one_line_and_exit_code_2(folder, more, says, capsys):
    assert run(["read", str(folder), "--quiet", *more]) == 2
    (line,) = capsys.readouterr().err.strip().split("\n")
    assert says in line


def test_the_sweep_has_its_points():
    assert len(POINTS) == VOLTAGE.size
