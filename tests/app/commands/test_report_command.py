"""`curvewright report` and `curvewright verify` on an invented site, as a folder and as a file."""

import json
import zipfile
from pathlib import Path

import openpyxl
import pytest

from tests.app.invented_site import write_site
from tests.app.running import command
from viewer.app.commands import report_command
from viewer.reports.annotation import Annotation
from viewer.site_data.report_details_file import EnteredDetails, EnteredRepair, read_details
from viewer.site_data.resource_folder import resource_folder
from viewer.state.keeping.mark_store import store_for
from viewer.state.keeping.report_texts import store_details, stored_details


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("site") / "visits"
    return write_site(made, strings=2, years=(2020, 2025), fallen=0.1)


@pytest.fixture(scope="module")
def site_file(folder: Path) -> Path:
    path = folder.parent / "field.curvewright"
    assert command("import", folder, path, "--quiet") == 0
    return path


@pytest.mark.parametrize("kind", report_command.KINDS)
def test_each_kind_is_written_as_pdf_and_workbook(folder, tmp_path, kind, capsys):
    pdf, book = tmp_path / "r.pdf", tmp_path / "r.xlsx"
    assert command("report", folder, "--kind", kind, "--out", pdf, "--out", book, "--quiet") == 0
    assert pdf.read_bytes().startswith(b"%PDF")
    assert "Key points" in openpyxl.load_workbook(book).sheetnames
    assert capsys.readouterr().out.splitlines() == [str(pdf), str(book)]


@pytest.mark.parametrize("home", ["folder", "site_file"])
def test_a_pack_holds_the_files_as_they_were_imported(home, request, folder, tmp_path, capsys):
    source, pack = request.getfixturevalue(home), tmp_path / "evidence.zip"
    words = (source, "--kind", "warranty", "--pack", pack, "--date", "2025-07-01", "--quiet")
    assert command("report", *words) == 0
    digest = capsys.readouterr().out.split()[-1]
    with zipfile.ZipFile(pack) as archive:
        names = set(archive.namelist())
        assert {"report.pdf", "report.xlsx", "results.csv", "results.jsonl"} <= names
        traces = list(folder.rglob("*.csv"))
        for trace in traces:
            inside = f"raw/{trace.relative_to(folder).as_posix()}"
            assert archive.read(inside) == trace.read_bytes()
        lines = archive.read("results.jsonl").decode().splitlines()
        assert len(lines) == len(traces)
        assert {json.loads(line)["status"] for line in lines} == {"ok"}
        assert "raw/site.toml" in names
    assert command("verify", pack, "--manifest", digest) == 0
    assert "all as the manifest says" in capsys.readouterr().out
    assert command("verify", pack, "--manifest", "0" * 64) == 1
    assert "not the one whose SHA-256 was written down" in capsys.readouterr().out


def test_a_changed_pack_is_named_with_what_differs(folder, tmp_path, capsys):
    pack = tmp_path / "evidence.zip"
    command("report", folder, "--kind", "yearly", "--pack", pack, "--quiet")
    changed = tmp_path / "changed.zip"
    with zipfile.ZipFile(pack) as old, zipfile.ZipFile(changed, "w") as new:
        for entry in old.infolist():
            more = b"\n" if entry.filename == "results.csv" else b""
            new.writestr(entry.filename, old.read(entry) + more)
    capsys.readouterr()
    assert command("verify", changed) == 1
    said = capsys.readouterr().out
    assert "results.csv: it is larger than" in said
    assert "1 differ" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--kind", "yearly"), "name a file to write"),
        (("--kind", "yearly", "--out", "r.doc"), "a report is a .pdf or an .xlsx file"),
        (("--kind", "yearly", "--pack", "r.rar"), "an evidence pack is a .zip file"),
        (("--kind", "yearly", "--out", "/no/such/folder/r.pdf"), "/no/such/folder/r.pdf"),
        (("--kind", "yearly", "--out", "r.pdf", "--details", "gone.toml"), "cannot be read"),
    ],
)
def test_what_cannot_be_done_is_one_sentence(folder, tmp_path, monkeypatch, capsys, words, said):
    monkeypatch.chdir(tmp_path)
    assert command("report", folder, *words, "--quiet") == 2
    complaint = capsys.readouterr().err
    assert said in complaint
    assert len(complaint.strip().splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_verify_refuses_what_is_no_pack(tmp_path, capsys):
    (tmp_path / "x.zip").write_text("no")
    assert command("verify", tmp_path / "x.zip") == 2
    assert "not a ZIP file" in capsys.readouterr().err


@pytest.mark.parametrize("home", ["folder", "site_file"])
def test_what_people_entered_and_drew_is_printed_from_where_it_is_kept(home, request, tmp_path):
    source = request.getfixturevalue(home)
    details = EnteredDetails(
        {"client": "Kept client", "instruments": ("tracer 7",), "decimal_comma": True},
        (EnteredRepair("CB1", "S1", "2023-01-01", "connector replaced"),),
    )
    store_details(source, details)
    assert stored_details(source) == details
    store = store_for(source)
    store.read()
    mark = Annotation("text", "iv", "stc", ((100.0, 3.0),), "marked")
    store.add("2025/CB1/S1.csv", mark)
    out = tmp_path / "r.xlsx"
    words = (source, "--kind", "troubleshooting", "--out", out, "--quiet")
    assert command("report", *words) == 0
    sheet = openpyxl.load_workbook(out)["Document"]
    assert "Kept client" in [row[1].value for row in sheet.iter_rows()]
    assert "What was done" in openpyxl.load_workbook(out).sheetnames
    assert [one.mark for one in store_for(source).read()] == [mark]


def test_the_template_is_a_details_file_and_names_every_key():
    template = resource_folder() / "templates" / "report.toml"
    entered = read_details(template)
    assert entered.repairs == ()
    for key in ("client", "tester", "instruments", "texts", "strings", "decimal_comma"):
        assert key in entered.values


def test_a_folder_without_a_readable_trace_gives_no_report(tmp_path, capsys):
    folder, pdf = tmp_path / "visit", tmp_path / "r.pdf"
    folder.mkdir()
    (folder / "a.csv").write_text("")
    assert command("report", folder, "--kind", "yearly", "--out", pdf, "--quiet") == 2
    assert "there is nothing to report" in capsys.readouterr().err
    assert not pdf.exists()
