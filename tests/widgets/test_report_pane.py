"""The report pane: entries, own words, chosen strings, preview, and the files it writes."""

from pathlib import Path

import openpyxl
import pytest

from tests.invented_results import InventedOpener, invented_visits
from viewer.reports.pack_check import check_pack
from viewer.site_data.report_details_file import read_details
from viewer.state.report_texts import FILE_NAME
from viewer.state.session import Session
from viewer.state.settings import Settings
from viewer.widgets.report_pane import ReportPane


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A visit folder whose trace files exist: a pack takes them as they are."""
    made = tmp_path / "site"
    for result in invented_visits():
        path = made / result.trace.source
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("voltage,current\n0,9\n")
    (made / "site.toml").write_text('name = "Invented site"\n')
    return made


@pytest.fixture
def session(folder: Path) -> Session:
    opened = Session(InventedOpener(invented_visits(), unreadable=()), Settings(theme="light"))
    opened.open(folder)
    return opened


@pytest.fixture
def pane(shown, session, look) -> ReportPane:
    return shown(ReportPane(session, look), 1000, 420)


def test_what_is_entered_is_printed_and_kept(qtbot, pane, folder, tmp_path):
    qtbot.keyClicks(pane.lines["client"], "Client A")
    pane.instruments.setPlainText("tracer 7\n\nsensor 8\n")
    pane.remarks.setPlainText("A remark.")
    path = tmp_path / "r.xlsx"
    pane.form.write(path)
    sheet = openpyxl.load_workbook(path)["Document"]
    assert "Client A" in [row[1].value for row in sheet.iter_rows()]
    kept = read_details(folder / FILE_NAME).values
    assert kept == {
        "client": "Client A",
        "instruments": ("tracer 7", "sensor 8"),
        "remarks": "A remark.",
    }


def test_entries_are_there_when_the_site_is_opened_again(pane, session, folder):
    pane.lines["tester"].setText("Tester B")
    pane.comma.setChecked(True)
    pane.buttons["Keep entries"].click()
    pane.lines["tester"].setText("typed and not kept")
    session.open(folder)
    assert pane.lines["tester"].text() == "Tester B"
    assert pane.comma.isChecked()


def test_own_words_belong_to_the_current_string(pane, session):
    first, second = (one.trace.source for one in invented_visits()[:2])
    session.selection.choose([first])
    pane.words.setPlainText("K7 burnt")
    session.selection.choose([second])
    assert pane.words.toPlainText() == ""
    session.selection.choose([first])
    assert pane.words.toPlainText() == "K7 burnt"
    assert pane.form.details.values["texts"] == {first: "K7 burnt"}
    assert "C1 S1, 2024-06-03" in pane.words_of.text()


def test_selected_strings_only(pane, session):
    ids = [one.trace.source for one in invented_visits()[8:10]]
    session.selection.choose(ids)
    pane.only_selected.setChecked(True)
    assert pane.form.details.values["strings"] == tuple(ids)
    assert "C1 S1, 2025-06-05" in pane.strings.text()
    pane.only_selected.setChecked(False)
    assert "strings" not in pane.form.details.values


@pytest.mark.parametrize("kind", ["troubleshooting", "yearly", "recommendations", "warranty"])
def test_the_preview_says_what_will_be_printed(pane, kind):
    pane.form.kind.value = kind
    pane.lines["title"].setText("My <title> & more")
    pane.buttons["Preview"].click()
    said = pane.preview.toPlainText()
    assert "My <title> & more" in said
    assert "Summary" in said
    assert "Limits of the method" in said


def test_pdf_and_pack_are_written_by_a_job(pane, session, tmp_path):
    pane.form.write(tmp_path / "r.pdf")
    assert (tmp_path / "r.pdf").read_bytes().startswith(b"%PDF")
    assert session.message.value == f"Saved {tmp_path / 'r.pdf'}."
    pane.form.write(tmp_path / "r.zip")
    check = check_pack(tmp_path / "r.zip")
    assert check.differences == ()
    assert check.manifest_sha256 in session.message.value


def test_what_goes_wrong_is_said(pane, session, tmp_path):
    pane.logo.setText(str(tmp_path / "none.png"))
    pane.form.write(tmp_path / "r.pdf")
    assert "none.png" in session.message.value
    pane.logo.setText("")
    pane.form.write(tmp_path / "gone" / "r.pdf")
    assert "gone" in session.message.value


def test_bad_entries_kept_beside_a_folder_are_said(session, folder, shown, look):
    (folder / FILE_NAME).write_text("cleint = 'x'")
    pane = shown(ReportPane(session, look), 800, 400)
    assert "there is no key cleint" in session.message.value
    assert pane.lines["client"].text() == ""


def test_nothing_open_nothing_to_press(shown, look):
    empty = Session(InventedOpener(()), Settings(theme="light"))
    pane = shown(ReportPane(empty, look), 800, 400)
    assert not any(button.isEnabled() for button in pane.buttons.values())
    pane.form.make_preview()
    assert "nothing to report" in empty.message.value
