"""The report pane: entries, own words, chosen strings, preview, and the files it writes."""

import json
import zipfile
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest
from PySide6.QtCore import Qt

from tests.app.invented_site import write_site
from tests.invented_results import InventedOpener, invented_visits
from viewer.reports.pack_check import check_pack
from viewer.site_data.report_details_file import read_details
from viewer.state.keeping.report_texts import FILE_NAME, stored_details
from viewer.state.keeping.site_import import import_steps
from viewer.state.program.jobs import Job
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.state.visit_opening import open_site
from viewer.widgets.reporting.report_pane import ReportPane


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


def test_kept_entries_are_taken_back_and_done_again(pane, session, folder):
    pane.lines["tester"].setText("Tester B")
    pane.form.keep()
    pane.lines["tester"].setText("Tester C")
    pane.remarks.setPlainText("A remark.")
    pane.form.keep()
    assert session.undo_label == "Report entries"
    pane.lines["client"].setText("typed and not kept yet")
    session.undo()
    assert pane.lines["tester"].text() == "Tester B"
    assert pane.remarks.toPlainText() == ""
    assert pane.lines["client"].text() == "typed and not kept yet"
    assert read_details(folder / FILE_NAME).values == {"tester": "Tester B"}
    session.undo()
    assert pane.lines["tester"].text() == ""
    assert not (folder / FILE_NAME).exists()
    session.redo()
    session.redo()
    assert pane.lines["tester"].text() == "Tester C"
    assert read_details(folder / FILE_NAME).values["remarks"] == "A remark."


def test_in_a_site_file_kept_entries_are_a_step_of_its_journal(shown, look, tmp_path):
    path = tmp_path / "field.curvewright"
    made = write_site(tmp_path / "visits", strings=1, years=(2020, 2022))
    for _ in import_steps(made, path):
        pass
    session = Session(open_site, Settings(theme="light"))
    session.open(path)
    pane = shown(ReportPane(session, look), 1000, 420)
    pane.lines["tester"].setText("Tester B")
    pane.buttons["Keep entries"].click()
    assert session.undo_label == "Report entries"
    session.undo()
    assert pane.lines["tester"].text() == ""
    assert stored_details(path).values == {}
    session.redo()
    assert pane.lines["tester"].text() == "Tester B"
    assert stored_details(path).values == {"tester": "Tester B"}


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


def said(pane: ReportPane) -> str:
    """The words of all pages of the preview."""
    document = pane.form.pages.document.value
    return "\n".join(document.words(place) for place in range(len(document.sizes)))


@pytest.mark.parametrize("kind", ["troubleshooting", "yearly", "recommendations", "warranty"])
def test_the_preview_shows_what_will_be_printed(pane, kind):
    pane.form.kind.value = kind
    pane.lines["title"].setText("My <title> & more")
    pane.buttons["Preview"].click()
    words = said(pane)
    assert "My <title> & more" in words
    assert "Summary" in words
    assert "Limits of the method" in words


def test_pages_are_drawn_where_they_are_looked_at(pane, qtbot):
    """Dark letters on paper reach the screen; the first page is drawn, not all of them."""
    pane.buttons["Preview"].click()
    view = pane.preview.view
    count = len(pane.form.pages.document.value.sizes)
    assert pane.preview.page.suffix() == f" of {count}"
    assert 0 in pane.form.pages.kept
    assert len(pane.form.pages.kept) < count
    shown = view.viewport().grab().toImage()
    lightness = {
        shown.pixelColor(x, y).lightness() for x in range(0, shown.width()) for y in range(0, 100)
    }
    assert max(lightness) == 255
    assert min(lightness) < 100
    assert "Summary" in view.accessibleDescription()


def test_going_to_a_page_and_to_the_end(pane, qtbot):
    pane.buttons["Preview"].click()
    view, number = pane.preview.view, pane.preview.page
    number.setValue(3)
    assert view.page == 2
    assert 2 in pane.form.pages.kept
    qtbot.keyClick(view, Qt.Key.Key_End)
    assert number.value() == number.maximum()
    qtbot.keyClick(view, Qt.Key.Key_Home)
    assert number.value() == 1
    assert max(pane.form.pages.kept) <= 2


def test_a_page_stays_under_the_eye_while_its_size_changes(pane, qtbot):
    pane.buttons["Preview"].click()
    view, zoom = pane.preview.view, pane.preview.zoom
    pane.preview.page.setValue(2)
    fitted = pane.form.pages.picture(1).width
    zoom.setCurrentIndex(zoom.findText("200 %"))
    zoom.activated.emit(zoom.currentIndex())
    assert view.zoom == 2.0
    assert view.page == 1
    wide = pane.form.pages.document.value.sizes[1][0]
    expected = 2 * wide * view.logicalDpiX() / 72 * view.devicePixelRatioF()
    assert pane.form.pages.picture(1).width == pytest.approx(expected, abs=2) != fitted
    qtbot.keyClick(view, Qt.Key.Key_Plus)
    assert view.zoom == pytest.approx(2.5)
    assert zoom.currentText() == "250 %"
    for _ in range(30):
        qtbot.keyClick(view, Qt.Key.Key_Minus)
    assert zoom.currentText() == "25 %"


def test_a_preview_that_is_out_of_date_says_so(pane):
    label = pane.preview.outdated
    pane.lines["client"].setText("Client A")
    assert label.isHidden()
    pane.buttons["Preview"].click()
    assert label.isHidden()
    pane.lines["client"].setText("Client B")
    assert not label.isHidden()
    pane.buttons["Preview"].click()
    assert label.isHidden()
    pane.form.kind.value = "warranty"
    assert not label.isHidden()


def test_what_is_entered_while_the_preview_is_made_is_not_in_it(pane, session):
    kept: list[Job] = []
    session.jobs.runner = kept.append
    pane.buttons["Preview"].click()
    steps = list(kept[0].steps())
    pane.lines["client"].setText("Client late")
    kept[0].receive(steps)
    assert "Client late" not in said(pane)
    assert not pane.preview.outdated.isHidden()


def test_a_preview_can_be_cancelled_and_another_site_has_none(pane, session, folder):
    kept: list[Job] = []
    usual, session.jobs.runner = session.jobs.runner, kept.append
    pane.buttons["Preview"].click()
    steps = kept[0].steps()
    next(steps)
    kept[0].cancel()
    assert all(step.payload is None for step in steps)
    session.jobs.runner = usual
    pane.buttons["Preview"].click()
    assert pane.form.pages.document.value is not None
    session.open(folder)
    assert pane.form.pages.document.value is None
    assert not pane.preview.page.isEnabled()


def test_pdf_and_pack_are_written_by_a_job(pane, session, tmp_path):
    pane.form.write(tmp_path / "r.pdf")
    assert (tmp_path / "r.pdf").read_bytes().startswith(b"%PDF")
    assert session.message.value == f"Saved {tmp_path / 'r.pdf'}."
    pane.form.write(tmp_path / "r.zip")
    check = check_pack(tmp_path / "r.zip")
    assert check.differences == ()
    assert check.manifest_sha256 in session.message.value


def test_a_pack_tells_the_settings_of_the_window(pane, session, tmp_path):
    session.settings.value = replace(session.settings.value, translation_procedure="4")
    pane.form.write(tmp_path / "r.zip")
    assert check_pack(tmp_path / "r.zip").differences == ()
    with zipfile.ZipFile(tmp_path / "r.zip") as archive:
        lines = archive.read("results.jsonl").decode().splitlines()
    assert [json.loads(one)["settings"] for one in lines] == [
        {"file": None, "translation_procedure": 4}
    ] * len(session.results)


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


def test_another_visit_than_the_newest_can_be_reported(pane, session, folder, tmp_path):
    names = [pane.visit.itemText(place) for place in range(pane.visit.count())]
    assert names == ["the newest", "2025", "2024"]
    path = tmp_path / "r.xlsx"
    pane.form.write(path)
    assert _measured_on(path) == "2025-06-05"
    pane.visit.setCurrentIndex(2)
    pane.visit.activated.emit(2)
    pane.form.write(path)
    assert _measured_on(path) == "2024-06-03"
    session.open(folder)
    assert pane.visit.currentText() == "the newest"


def _measured_on(path):
    sheet = openpyxl.load_workbook(path)["Document"]
    return next(row[1].value for row in sheet.iter_rows() if row[0].value == "Measured on")
