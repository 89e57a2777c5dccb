"""What cannot be meant, and folders that hold nothing, are said in one sentence that is true."""

import shutil
from pathlib import Path

import pytest

from tests.app.invented_site import write_site
from viewer.app.command_line import run
from viewer.site_data.resource_folder import example_folder

EXAMPLE = str(example_folder())
STRING = ("CB-A", "CB-A-S02", "--irradiance", "800", "--cell-temperature", "40")


def said(words: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    """What stands on standard error, where the command refuses."""
    try:
        code = run(words)
    except SystemExit as end:
        code = end.code
    told = capsys.readouterr()
    assert code == 2, told
    assert "Traceback" not in told.err
    return told.err


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["expect", EXAMPLE, *STRING, "--v-oc", "1e300"], "--v-oc: 1e300 does not lie"),
        (["expect", "--module", "x", "--modules", "99999", *STRING[2:]], "--modules: 99999 does"),
        (["worst", EXAMPLE, "--price", "1e308"], "--price: 1e308 does not lie from 0 to 100000"),
        (["worst", EXAMPLE, "--yield", "1e308"], "--yield: 1e308 does not lie from 0 to 4000"),
        (["sample", EXAMPLE, "--share", "0"], "--share must be above 0 %"),
        (["sample", EXAMPLE, "--share", "1000"], "--share: 1000 does not lie from 0 to 100"),
        (["sample", EXAMPLE, "--panel", "-1"], "--panel: -1 does not lie from 0 to 100"),
        (["simulate", "soft_shade", "--out", "x", "--modules", "1000000"], "--modules lies from 1"),
        (["simulate", "soft_shade", "--out", "x", "--beside", "99999"], "--beside lies from 0 to"),
        (["simulate", "soft_shade", "--out", "x", "--points", "3"], "--points lies from 10 to"),
        (["site", EXAMPLE, "show"], "it is a folder; `curvewright import` makes"),
        (["limits", "no/such", "--lowest", "-5"], "There is no folder no/such."),
        (["analyze", EXAMPLE, "--nonsense"], "unrecognized arguments: --nonsense; see curvewright"),
        (["site", "x.curvewright", "close", "first"], "NUMBER: 'first' is not a whole number; see"),
    ],
)
def test_what_cannot_be_meant_is_one_sentence(words, sentence, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    err = said(words, capsys)
    assert sentence in err
    assert err.startswith(f"curvewright {words[0]}")
    assert len(err.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["close", "9" * 20], f"NUMBER: {'9' * 20} is too large a number; see"),
        (["repair", "CB1/S1", "2025-01-01", "x", "--finding", "9" * 20], "is too large a number"),
        (["module", " ", "CB1/S1", "1"], "the serial number of the module is empty"),
    ],
)
def test_a_site_file_is_not_given_what_it_cannot_hold(words, sentence, capsys, tmp_path) -> None:
    folder, file = write_site(tmp_path / "v", strings=1, years=(2020,)), tmp_path / "x.curvewright"
    assert run(["import", str(folder), str(file), "--quiet"]) == 0
    err = said(["site", str(file), *words], capsys)
    assert sentence in err
    assert len(err.splitlines()) == 1


def test_files_of_another_kind_are_said_to_lack_what_is_wanted(capsys, tmp_path) -> None:
    file = tmp_path / "prose.txt"
    file.write_text("Nothing but words.", encoding="utf-8")
    err = said(["worst", EXAMPLE, "--quiet", "--year", str(file)], capsys)
    assert "prose.txt holds no table of hourly irradiance; give one with a column" in err
    err = said(["read", EXAMPLE, "--quiet", "--log", str(file)], capsys)
    assert "prose.txt holds no table of times and readings." in err
    err = said(["simulate", "not_there.toml", "--out", str(tmp_path / "x")], capsys)
    assert (
        err == "curvewright simulate: not_there.toml cannot be read: No such file or directory.\n"
    )


def test_where_nothing_is_predicted_no_string_is_called_sound(capsys, tmp_path: Path) -> None:
    (source,) = Path(EXAMPLE).glob("2025*/CB-A/CB-A-S01.csv")
    shutil.copy(source, tmp_path / "S01.csv")
    assert run(["worst", str(tmp_path)]) == 0
    told = capsys.readouterr()
    assert told.out.startswith("No string can be judged: none has a prediction")
    assert "has no site.toml" in told.err


def test_terms_are_not_asked_for_where_they_are_known(capsys) -> None:
    words = ["warranty", EXAMPLE, "--quiet", "--first-year", "2", "--annual", "0.5", "--start"]
    last = said([*words, "2099-01-01"], capsys).splitlines()[-1]
    assert "nothing could be checked: 42 traces not checked: measured before the warranty" in last
    assert "enter the terms" not in last
