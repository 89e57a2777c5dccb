"""`import`, `trend`, `sample` and `warranty` on an invented site whose truth is known."""

import json
import math
import shutil
from datetime import date
from pathlib import Path

import pytest

from tests.app.invented_site import write_site
from tests.app.running import command
from viewer.reading.visits.visit_folder import open_visit_folder, read_source
from viewer.site_data.site_file.annotations import Repair, add_repair
from viewer.site_data.site_file.connection import open_site_file
from viewer.site_data.site_file.listing import list_traces, list_visits
from viewer.site_data.site_file.stored_visits import read_stored_visits


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_site(tmp_path_factory.mktemp("site") / "visits")


@pytest.fixture(scope="module")
def imported(folder: Path) -> Path:
    path = folder.parent / "field.curvewright"
    assert command("import", folder, path, "--quiet") == 0
    return path


@pytest.fixture
def site_file(imported: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(imported, tmp_path / imported.name))


def from_json(capsys: pytest.CaptureFixture[str]) -> dict:
    return json.loads(capsys.readouterr().out)


def test_the_site_file_gives_back_what_the_folder_holds(folder: Path, imported: Path) -> None:
    opened = open_visit_folder(folder)
    stored = read_stored_visits(imported)
    assert stored.layout == opened.layout
    assert tuple(stored.contents) == opened.sources
    for source in opened.sources:
        ((original,), back) = read_source(opened, source), stored.contents[source]
        assert (original.voltage == back.voltage).all()
        assert (original.current == back.current).all()
        assert original.conditions == back.conditions
        assert (original.measured_at, original.note, original.sha256, original.remarks) == (
            back.measured_at,
            back.note,
            back.sha256,
            back.remarks,
        )


def test_key_numbers_are_there_when_the_site_is_opened(imported: Path) -> None:
    with open_site_file(imported) as opened:
        listed = list_traces(opened)
        visits = list_visits(opened)
    assert [visit.name for visit in visits] == ["2020", "2022", "2025"]
    assert len(listed) == 36
    for one in listed:
        expected = 1 - 0.008 * (int(one.source[:4]) - 2020)
        assert one.power_ratio == pytest.approx(expected, abs=0.01)
        assert one.translated_p_mp == pytest.approx(20 * 9.0 * 37.5 * expected, rel=0.01)


def test_importing_again_says_that_nothing_is_new(
    folder: Path, site_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert command("import", folder, site_file) == 0
    said = capsys.readouterr().out
    assert said.startswith("0 traces stored")
    assert "36 files unchanged since an earlier import" in said
    assert command("site", site_file, "journal") == 0
    assert capsys.readouterr().out.count("Import of") == 1


def test_what_was_not_compared_when_an_import_was_stopped_is_made_up_for(
    folder: Path, site_file: Path
) -> None:
    with open_site_file(site_file) as opened, opened.writing() as connection:
        connection.execute("DELETE FROM results WHERE trace_id > 30")
    assert command("import", folder, site_file, "--quiet") == 0
    with open_site_file(site_file) as opened:
        assert not any(math.isnan(one.power_ratio) for one in list_traces(opened))


def test_a_corrected_layout_is_reckoned_with_at_once(
    folder: Path, site_file: Path, tmp_path: Path
) -> None:
    """The key numbers of every trace were thrown away then, and came back with none."""
    copy = Path(shutil.copytree(folder, tmp_path / "v"))
    toml = copy / "site.toml"
    text = toml.read_text(encoding="utf-8")
    toml.write_text(
        text.replace("modules_in_series = 20", "modules_in_series = 19", 1), encoding="utf-8"
    )
    assert command("import", copy, site_file, "--quiet") == 0
    with open_site_file(site_file) as opened:
        ratios = {one.source: one.power_ratio for one in list_traces(opened)}
    assert len(ratios) == 36
    assert ratios["2020/CB1/S1.csv"] == pytest.approx(20 / 19, abs=0.01)
    assert ratios["2020/CB1/S2.csv"] == pytest.approx(1.0, abs=0.01)


def test_trend_finds_the_rate_and_what_drives_it(
    imported: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert command("trend", imported, "--json", "-", "--quiet") == 0
    found = from_json(capsys)
    assert found["visits"] == ["2020", "2022", "2025"]
    site = found["groups"][0]
    assert (site["kind"], site["strings"], site["population"]) == ("site", 12, 12)
    for name, rate in (("p_mp", -0.8), ("i_sc", -0.8), ("v_oc", 0.0), ("fill_factor", 0.0)):
        measured = site["rates"][name]
        assert measured["rate"] == pytest.approx(rate, abs=0.05), name
        assert measured["low"] < rate < measured["high"]
    assert len(found["strings"]) == 12


def test_folder_and_site_file_give_the_same_trend(
    folder: Path, imported: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command("trend", folder, "--json", "-", "--quiet")
    by_folder = from_json(capsys)
    command("trend", imported, "--json", "-", "--quiet")
    assert from_json(capsys) == by_folder


def test_the_table_never_shows_a_rate_without_its_interval(
    imported: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert command("trend", imported) == 0
    said = capsys.readouterr().out
    assert "(95 %)" in said
    assert "doi 10.1002/pip.1182" in said
    assert "common practice, no source" in said


def test_a_repair_in_the_site_file_sets_the_string_apart(
    site_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:

    with open_site_file(site_file) as opened:
        add_repair(opened, Repair("CB1", "S2", date(2021, 3, 1), "Connector changed"))
    words = ("--repaired", "CB2/S1=2024-01-01", "--json", "-", "--quiet")
    assert command("trend", site_file, *words) == 0
    found = from_json(capsys)
    assert found["groups"][0]["strings"] == 10
    assert [(one["combiner"], one["string"]) for one in found["repaired"]] == [("CB1", "S2")]
    assert found["repaired_without_rate"] == [["CB2", "S1"]]


def test_changes_against_the_baseline_and_between_any_visits(
    imported: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert command("trend", imported, "--changes", "--json", "-", "--quiet") == 0
    found = from_json(capsys)
    assert (found["from"], found["to"], len(found["strings"])) == ("2020", "2025", 12)
    power = found["strings"][0]["key_points"]["p_mp"]
    assert power["change"] == pytest.approx(-4.0, abs=0.2)
    words = ("--changes", "--from", "2022", "--same-instruments", "--json", "-", "--quiet")
    command("trend", imported, *words)
    found = from_json(capsys)
    assert found["from"] == "2022"
    assert found["strings"][0]["key_points"]["i_sc"]["beyond_uncertainty"] is True


def test_sample_is_repeatable_and_tells_what_it_can_show(
    imported: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = (imported, "--share", "25", "--seed", "4", "--suspect", "CB2/S6", "--json", "-")
    assert command("sample", *words) == 0
    found = from_json(capsys)
    command("sample", *words)
    assert from_json(capsys) == found
    reasons = [one["reason"] for one in found["strings"] if one["reason"] != "suspect"]
    assert len(reasons) == 3
    assert ("CB2", "S6") in {(one["combiner"], one["string"]) for one in found["strings"]}
    losses = [one["smallest_loss"] for one in found["detectable"]]
    assert losses == sorted(losses, reverse=True)


def test_a_string_that_fell_short_becomes_a_suspect(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write_site(tmp_path / "v", rate=0.0, strings=4, years=(2020, 2022), fallen=0.2)
    assert command("sample", folder, "--json", "-", "--quiet") == 0
    found = from_json(capsys)
    assert ("CB1", "S1") in {(one["combiner"], one["string"]) for one in found["strings"]}
    assert sum(one["reason"] == "suspect" for one in found["strings"]) <= 1


def test_sample_needs_only_the_layout(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_site(tmp_path / "v", years=())
    assert command("sample", folder, "--share", "20") == 0
    said = capsys.readouterr().out
    assert "Strings that stand for the site: 2 of 12 (16.7 %)" in said
    assert "[ ]   1  CB1" in said
    assert "never" in said


def test_warranty_by_the_terms_of_the_site(
    imported: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert command("warranty", imported, "--json", "-", "--quiet") == 0
    found = from_json(capsys)
    assert len(found["checks"]) == 12
    first = found["checks"][0]
    age = 1826 / 365.25
    assert first["warranted"] == pytest.approx(20 * 9.0 * 37.5 * (98 - 0.5 * (age - 1)) / 100)
    assert first["measured"] == pytest.approx(20 * 9.0 * 37.5 * 0.96, rel=0.005)
    assert first["decision"] == "inconclusive"
    assert "ILAC-G8" in found["rule"]


def test_warranty_by_terms_of_the_command_line(
    imported: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("--steps", "10:99.9,25:80", "--start", "2019-06-01", "--module", "A")
    more = ("--irradiance-uncertainty", "1.0", "--temperature-uncertainty", "1.0")
    assert command("warranty", imported, *words, *more) == 0
    said = capsys.readouterr().out
    assert "12 below, 0 inconclusive, 0 above the warranted power." in said
    assert "240 modules" in said
    assert "proves no claim" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("trend", "nowhere"), "There is no folder nowhere"),
        (("trend", "{site}", "--repaired", "CB1/S9=2020-01-01"), "there is no string CB1/S9"),
        (("trend", "{site}", "--repaired", "CB1/S1=soon"), "'soon' is not a date"),
        (("trend", "{site}", "--from", "2022"), "--from: only with --changes"),
        (("trend", "{site}", "--same-instruments"), "--same-instruments: only with --changes"),
        (("trend", "{site}", "--repaired", "x"), "write COMBINER/STRING=YYYY-MM-DD"),
        (
            ("trend", "{site}", "--changes", "--from", "2025", "--to", "2025"),
            "2025 is compared with itself",
        ),
        (("trend", "{site}", "--changes", "--from", "1999"), "there is no visit 1999; known:"),
        (("sample", "{site}", "--share", "0"), "--share must be above 0 %"),
        (("sample", "{site}", "--suspect", "x"), "write it as COMBINER/STRING"),
        (("warranty", "{site}", "--module", "Z", "--first-year", "2", "--annual", "1"), "module Z"),
        (("warranty", "{site}", "--steps", "10-90"), "is not a step; write AGE:PERCENT"),
        (("warranty", "{site}", "--first-year", "2"), "the warranty has no annual"),
        (("warranty", "{site}", "--irradiance-uncertainty", "-1"), "not negative"),
        (("import", "{folder}", "site.db"), "must end in .curvewright"),
        (("import", "nowhere", "x.curvewright"), "There is no folder nowhere"),
        (("import", "{folder}", "nowhere/x.curvewright"), "does not exist; make it first"),
        (("trend", "{site}", "--json", "nowhere/x.json"), "could not be written"),
    ],
)
def test_what_cannot_be_done_is_one_line_and_exit_code_2(
    words: tuple[str, ...],
    said: str,
    folder: Path,
    imported: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    filled = [word.format(site=imported, folder=folder) for word in words]
    assert command(filled[0], *filled[1:], "--quiet") == 2
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1
    assert error.startswith(f"curvewright {filled[0]}: ")


def test_one_visit_gives_no_rate_and_exit_code_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write_site(tmp_path / "v", years=(2020,), strings=2)
    assert command("trend", folder, "--quiet") == 2
    assert "a rate needs two visits with usable traces, not 1" in capsys.readouterr().err


def test_no_warranty_terms_anywhere_says_how_to_enter_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write_site(tmp_path / "v", years=(2020,), strings=1, warranty="")
    assert command("warranty", folder, "--quiet") == 2
    assert "enter the terms as [module.KEY.warranty]" in capsys.readouterr().err


def test_an_unreadable_file_is_kept_and_counted(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    copy = Path(shutil.copytree(folder, tmp_path / "v"))
    (copy / "2025" / "broken.csv").write_text("nothing in here", encoding="utf-8")
    assert command("import", copy, tmp_path / "x.curvewright") == 1
    assert "1 file could not be read" in capsys.readouterr().out
