"""`curvewright site`: everything people add can be shown, undone, and taken out again."""

import hashlib
import json
import shutil
import sqlite3
from pathlib import Path

import pytest

from tests.app.invented_site import write_site
from tests.app.running import command
from tests.invented_pictures import picture_file
from viewer.reading.visits.visit_folder import open_visit_folder


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_site(tmp_path_factory.mktemp("site") / "visits", strings=2)


@pytest.fixture(scope="module")
def imported(folder: Path) -> Path:
    path = folder.parent / "field.curvewright"
    assert command("import", folder, path, "--quiet") == 0
    return path


@pytest.fixture
def site_file(imported: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(imported, tmp_path / imported.name))


def said(capsys: pytest.CaptureFixture[str]) -> str:
    return capsys.readouterr().out


def test_what_is_added_is_shown_and_can_be_undone(
    site_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    steps = [
        ("note", "--visit", "2022", "Clouds after noon"),
        ("finding", "--string", "CB1/S2", "--cause", "bypass_short", "One group missing"),
        ("repair", "CB1/S2", "2023-01-02", "Module changed", "--finding", "1"),
        ("module", "SN-1", "CB1/S2", "4"),
        ("close", "1"),
    ]
    picture = picture_file(tmp_path / "ir.png")
    words = ("--string", "CB1/S2", "--kind", "infrared", "--caption", "warm box")
    assert command("picture", site_file, picture, *words) == 0
    for step in steps:
        assert command("site", site_file, *step) == 0
    said(capsys)
    assert command("site", site_file, "show") == 0
    shown = said(capsys)
    assert "Invented field: 2 combiners, 4 strings." in shown
    assert "visit 2022: Clouds after noon" in shown
    assert "CB1/S2: One group missing (bypass_short) [closed]" in shown
    assert "repair 1, 2023-01-02, CB1/S2: Module changed" in shown
    assert "ir.png: warm box [infrared]" in shown
    for _ in ("picture", *steps):
        assert command("site", site_file, "undo") == 0
    assert said(capsys).splitlines()[0] == "Taken back: Close finding."
    command("site", site_file, "show")
    assert "CB1/S2" not in said(capsys)
    assert command("site", site_file, "redo") == 0
    assert said(capsys) == "Done again: Picture ir.png.\n"
    assert command("site", site_file, "journal") == 0
    assert said(capsys).count("undone") == 5


def test_undoing_the_import_and_more_is_said_plainly(
    site_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command("site", site_file, "undo")
    command("site", site_file, "undo")
    lines = said(capsys).splitlines()
    assert lines[0].startswith("Taken back: Import of ")
    assert lines[1] == "There is nothing to take back."


def test_undoing_a_changed_layout_is_said_and_computed_with(
    folder: Path, site_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = shutil.copytree(folder, tmp_path / "visits")
    described = (other / "site.toml").read_text("utf-8")
    (other / "site.toml").write_text(described.replace("i_sc = 9.5", "i_sc = 9.8"), "utf-8")
    before = _ratios(site_file)
    command("import", other, site_file, "--quiet")
    assert _ratios(site_file) != before
    said(capsys)
    assert command("site", site_file, "undo") == 0
    assert said(capsys) == (
        f"Taken back: Import of {other}. The layout is again as it was before it.\n"
    )
    assert _ratios(site_file) == before


def _ratios(site_file: Path) -> list[tuple[float]]:
    connection = sqlite3.connect(site_file)
    found = connection.execute("SELECT power_ratio FROM results ORDER BY trace_id").fetchall()
    connection.close()
    return found


def test_the_baseline_decides_what_changes_are_counted_from(
    site_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert command("site", site_file, "baseline", "2022") == 0
    said(capsys)
    command("trend", site_file, "--changes", "--json", "-", "--quiet")
    assert json.loads(said(capsys))["from"] == "2022"
    command("site", site_file, "undo")
    said(capsys)
    command("trend", site_file, "--changes", "--json", "-", "--quiet")
    assert json.loads(said(capsys))["from"] == "2020"


def test_the_imported_files_come_out_byte_for_byte(
    folder: Path, site_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert command("site", site_file, "files", out) == 0
    opened, again = open_visit_folder(folder), open_visit_folder(out)
    assert again.sources == opened.sources
    assert again.layout == opened.layout

    def digest(path: Path) -> str:
        return hashlib.sha256(path.read_bytes()).hexdigest()

    for source in opened.sources:
        assert digest(folder / source) == digest(out / source)
    assert command("site", site_file, "files", out) == 2
    assert "it is not empty; name a new folder" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["../evil.csv", "/etc/evil.csv", "a/../../evil.csv", "C:evil"])
def test_no_file_is_written_outside_the_folder(
    name: str, site_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with sqlite3.connect(site_file) as connection:
        connection.execute("UPDATE traces SET source = ? WHERE id = 1", (name,))
    connection.close()
    assert command("site", site_file, "files", tmp_path / "deep" / "out") == 2
    assert "leads out of the folder" in capsys.readouterr().err
    assert not list(tmp_path.rglob("evil*"))


def test_check_finds_damage(site_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert command("site", site_file, "check") == 0
    assert said(capsys) == "field.curvewright is whole.\n"
    with sqlite3.connect(site_file) as connection:
        connection.execute("DELETE FROM visits WHERE id = 1")
    connection.close()
    assert command("site", site_file, "check") == 1
    assert "points to a missing visits" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("close", "9"), "it has no finding 9"),
        (("note", "--visit", "1999", "x"), "it has no visit 1999; known: 2020, 2022, 2025"),
        (("repair", "CB9/S1", "2020-01-01", "x"), "there is no string CB9/S1"),
        (("repair", "CB1/S1", "yesterday", "x"), "'yesterday' is not a date"),
        (("baseline", "1999"), "it has no visit 1999"),
    ],
)
def test_what_cannot_be_done_is_one_line(
    words: tuple[str, ...], sentence: str, site_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert command("site", site_file, *words) == 2
    error = capsys.readouterr().err
    assert sentence in error
    assert error.count("\n") == 1


def test_a_file_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert command("site", tmp_path / "x.curvewright", "show") == 2
    assert "there is no such file" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("module", "SN-1", "CB1/S2", "0"), "has no position 0; it has 20 modules, counted from 1"),
        (("module", "SN-1", "CB1/S2", "21"), "has no position 21"),
        (("repair", "CB1/S2", "2023-01-02", "Done", "--finding", "9"), "it has no finding 9."),
        (("repair", "CB1/S2", "2023-01-02", " "), "the text of the repair is empty"),
        (("note", ""), "the text of the note is empty"),
        (("finding", "--string", "CB1/S2", ""), "the text of the finding is empty"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_stored(
    site_file: Path, words: tuple[str, ...], why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert command("site", site_file, "journal") == 0
    before = said(capsys)
    assert command("site", site_file, *words) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert why in line
    assert command("site", site_file, "journal") == 0
    assert said(capsys) == before
