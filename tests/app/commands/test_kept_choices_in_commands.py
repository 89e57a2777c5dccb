"""Baseline and warranty terms kept with a site count in every command, unless told otherwise."""

import json
from datetime import date
from pathlib import Path

import openpyxl
import pypdf
import pytest

from tests.app.invented_site import write_site
from tests.app.running import command
from viewer.site_data.site_file.connection import open_site_file
from viewer.site_data.warranty_terms import WarrantyTerms
from viewer.state.years.kept_choices import (
    KeptChoices,
    store_in_folder,
    store_in_site_file,
    stored_choices,
)

TERMS = WarrantyTerms(3.25, 0.75, 28.0, start=date(2019, 3, 15), rated_power=339.5)
CHOICES = KeptChoices("2022", {"A": TERMS})


@pytest.fixture(params=["folder", "site_file"])
def home(request, tmp_path) -> Path:
    """Datasheet terms of the same site would be 2 %, 0.5 points a year, from June 2020."""
    folder = write_site(tmp_path / "visits", strings=2)
    if request.param == "folder":
        store_in_folder(folder, CHOICES)
        return folder
    path = tmp_path / "field.curvewright"
    assert command("import", folder, path, "--quiet") == 0
    with open_site_file(path) as site_file:
        store_in_site_file(site_file, CHOICES, "Choices")
    return path


def sheet(book: Path, name: str) -> list[tuple]:
    return list(openpyxl.load_workbook(book)[name].iter_rows(values_only=True))


def from_of_trend(home, capsys, *words: object) -> str:
    capsys.readouterr()
    assert command("trend", home, "--changes", "--json", "-", "--quiet", *words) == 0
    return json.loads(capsys.readouterr().out)["from"]


def test_the_kept_terms_are_printed_and_counted_with(home, tmp_path):
    pdf, book = tmp_path / "r.pdf", tmp_path / "r.xlsx"
    assert command("report", home, "--kind=warranty", "--out", pdf, "--out", book, "--quiet") == 0
    head, row = sheet(book, "Warranty terms used")
    said = dict(zip(head, row, strict=True))
    assert said["Rated (W)"] == 339.5
    assert said["First year (% lost)"] == 3.25
    assert said["Then a year (points)"] == 0.75
    assert said["Years"] == 28
    assert said["Since"] == "2019-03-15"
    text = " ".join(" ".join(one.extract_text() for one in pypdf.PdfReader(pdf).pages).split())
    for number in ("339.5", "3.25", "0.75", "2019-03-15"):
        assert number in text
    checks = sheet(book, "Every string or module checked")
    checked = dict(zip(checks[0], checks[1], strict=True))
    years = (date(2025, 6, 1) - date(2019, 3, 15)).days / 365.25
    warranted = 20 * 339.5 * (100 - 3.25 - 0.75 * (years - 1)) / 100
    assert checked["Age (a)"] == pytest.approx(years)
    assert checked["Warranted (W)"] == pytest.approx(warranted, rel=1e-4)


def test_the_warranty_command_takes_the_kept_terms_unless_others_are_given(home, capsys):
    command("warranty", home, "--json", "-", "--quiet")
    kept = json.loads(capsys.readouterr().out)["checks"][0]["warranted"]
    options = ("--first-year=0", "--annual=0", "--start=2020-06-01")
    command("warranty", home, "--json", "-", "--quiet", *options)
    given = json.loads(capsys.readouterr().out)["checks"][0]["warranted"]
    assert given == pytest.approx(20 * 9.0 * 37.5, rel=1e-6)
    assert kept < 20 * 339.5


def test_trend_counts_from_the_kept_baseline_unless_told_otherwise(home, capsys):
    assert from_of_trend(home, capsys) == "2022"
    assert from_of_trend(home, capsys, "--from", "2020") == "2020"


def test_the_yearly_report_compares_with_the_kept_baseline_unless_told_otherwise(
    home, tmp_path, capsys
):
    book = tmp_path / "r.xlsx"
    words = ("report", home, "--kind=yearly", "--out", book, "--quiet")
    assert command(*words) == 0
    names = openpyxl.load_workbook(book).sheetnames
    assert [one for one in names if one.startswith("Change")] == ["Change since the baseline, 2022"]
    assert command(*words, "--baseline", "2020") == 0
    assert "Change since the baseline, 2020" in openpyxl.load_workbook(book).sheetnames
    assert command(*words, "--baseline", "1999") == 2
    assert "there is no visit 1999; known: 2020, 2022, 2025" in capsys.readouterr().err


def test_a_baseline_that_is_gone_is_passed_over(home, capsys):
    changed = KeptChoices("1999", {})
    if home.is_dir():
        store_in_folder(home, changed)
    else:
        with open_site_file(home) as site_file:
            store_in_site_file(site_file, changed, "Choices")
    assert from_of_trend(home, capsys) == ("2020" if home.is_dir() else "2022")


def test_the_newest_word_on_the_baseline_counts(tmp_path, capsys):
    """Chosen in the window, then by command: the command's holds, and undo brings the first."""
    folder = write_site(tmp_path / "visits", strings=1)
    path = tmp_path / "field.curvewright"
    assert command("import", folder, path, "--quiet") == 0
    with open_site_file(path) as site_file:
        store_in_site_file(site_file, CHOICES, "Choices")
    assert command("site", path, "baseline", "2020") == 0
    assert from_of_trend(path, capsys) == "2020"
    assert stored_choices(path).terms == {"A": TERMS}
    assert command("site", path, "undo") == 0
    assert from_of_trend(path, capsys) == "2022"


@pytest.mark.parametrize("kind", ["troubleshooting", "recommendations", "yearly", "warranty"])
def test_a_report_is_about_the_visit_that_is_asked_for(home, tmp_path, kind, capsys):
    book = tmp_path / "r.xlsx"
    words = ("report", home, "--kind", kind, "--out", book, "--quiet")
    assert command(*words, "--visit", "2022") == 0
    traces = [row[0] for row in sheet(book, "Key points")[1:]]
    assert traces
    assert all(one.startswith("2022/") for one in traces)
    facts = {row[0]: row[1] for row in sheet(book, "Document")}
    assert facts["Measured on"] == "2022-06-01"
    if kind == "warranty":
        checks = sheet(book, "Every string or module checked")
        place = checks[0].index("Measured on")
        assert {row[place] for row in checks[1:]} == {"2022-06-01"}
    if kind == "yearly":
        assert "Change since the visit 2020" in openpyxl.load_workbook(book).sheetnames
    assert command(*words, "--visit", "1999") == 2
    assert "there is no visit 1999; known: 2020, 2022, 2025" in capsys.readouterr().err
