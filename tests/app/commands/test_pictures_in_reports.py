"""Pictures of a fault are printed with their string, and packed byte for byte."""

import csv
import hashlib
import io
import zipfile
from pathlib import Path

import openpyxl
import pypdf
import pytest

from tests.app.invented_site import write_site
from tests.app.running import command
from tests.invented_pictures import TAKEN, picture_file

FAULTY = "2025/CB1/S1.csv"


@pytest.fixture(params=["folder", "site_file"])
def home(request, tmp_path) -> Path:
    folder = write_site(tmp_path / "visits", strings=2, years=(2020, 2025), fallen=0.2)
    if request.param == "folder":
        return folder
    path = tmp_path / "field.curvewright"
    assert command("import", folder, path, "--quiet") == 0
    return path


@pytest.fixture
def pictures(home, tmp_path) -> dict[str, Path]:
    """Of the faulty string, of its trace five years before, of a sound string and of the site."""
    made = {
        "hot": picture_file(tmp_path / "hot.jpg", taken=TAKEN, size=(2400, 1600), colour="red"),
        "old": picture_file(tmp_path / "old.png", colour="blue"),
        "sound": picture_file(tmp_path / "sound.png", colour="green"),
        "gate": picture_file(tmp_path / "gate.png", colour="grey"),
    }
    words = ("--string", "CB1/S1", "--kind", "infrared", "--caption", "hot cell")
    assert command("picture", home, made["hot"], *words, "--trace", FAULTY) == 0
    assert command("picture", home, made["old"], "--trace", "2020/CB1/S1.csv") == 0
    assert command("picture", home, made["sound"], "--string", "CB2/S2") == 0
    assert command("picture", home, made["gate"], "--caption", "=gate") == 0
    return made


def page_with(pdf: Path, words: str) -> pypdf.PageObject:
    return next(one for one in pypdf.PdfReader(pdf).pages if words in one.extract_text())


@pytest.mark.parametrize("kind", ["troubleshooting", "recommendations", "yearly", "warranty"])
def test_a_picture_is_printed_on_the_page_of_its_string(home, pictures, tmp_path, kind):
    pdf, book = tmp_path / "r.pdf", tmp_path / "r.xlsx"
    assert command("report", home, "--kind", kind, "--out", pdf, "--out", book, "--quiet") == 0
    page = page_with(pdf, "taken 2025-06-05")
    text = page.extract_text().replace("\n", " ")
    assert "Infrared picture, taken 2025-06-05: hot cell (hot.jpg)." in text
    printed = [one.image for one in page.images if max(one.image.size) == 1020]
    assert len(printed) == 1
    assert printed[0].getpixel((500, 300))[0] > 200
    whole = "".join(one.extract_text() for one in pypdf.PdfReader(pdf).pages)
    assert "(old.png)" not in whole, "of another visit"
    assert "(gate.png)" in whole
    rows = list(openpyxl.load_workbook(book)["Pictures kept with the site"].iter_rows())
    listed = {row[0].value: row[5].value for row in rows[1:]}
    assert listed == {
        one.name: hashlib.sha256(one.read_bytes()).hexdigest() for one in pictures.values()
    }


def test_the_pack_holds_every_picture_and_proves_it(home, pictures, tmp_path, capsys):
    pack = tmp_path / "p.zip"
    assert command("report", home, "--kind", "warranty", "--pack", pack, "--quiet") == 0
    with zipfile.ZipFile(pack) as archive:
        table = list(csv.DictReader(io.StringIO(archive.read("pictures.csv").decode())))
        assert {row["name"] for row in table} == {one.name for one in pictures.values()}
        for row in table:
            content = archive.read(row["file"])
            assert content == (tmp_path / row["name"]).read_bytes()
            assert hashlib.sha256(content).hexdigest() == row["sha256"]
            assert row["sha256"] in archive.read("SHA256SUMS").decode()
        assert table[0]["trace"] == FAULTY
        assert table[3]["caption"] == "'=gate"
    assert command("verify", pack) == 0
    changed = tmp_path / "changed.zip"
    with zipfile.ZipFile(pack) as old, zipfile.ZipFile(changed, "w") as new:
        for entry in old.infolist():
            more = b"\0" if entry.filename.endswith("hot.jpg") else b""
            new.writestr(entry.filename, old.read(entry) + more)
    capsys.readouterr()
    assert command("verify", changed) == 1
    assert "hot.jpg: it is larger" in capsys.readouterr().out


def test_a_picture_that_was_damaged_since_is_named_in_its_place(tmp_path):
    folder = write_site(tmp_path / "visits", strings=2, years=(2020, 2025), fallen=0.2)
    picture = picture_file(tmp_path / "hot.jpg")
    assert command("picture", folder, picture, "--trace", FAULTY) == 0
    next((folder / "pictures").iterdir()).write_bytes(b"damaged")
    pdf = tmp_path / "r.pdf"
    assert command("report", folder, "--kind", "yearly", "--out", pdf, "--quiet") == 0
    text = page_with(pdf, "(hot.jpg)").extract_text().replace("\n", " ")
    assert "was changed since it was attached" in text


def test_without_pictures_nothing_is_said_of_them(tmp_path):
    folder = write_site(tmp_path / "visits", strings=1, years=(2020, 2025))
    book, pack = tmp_path / "r.xlsx", tmp_path / "p.zip"
    words = ("--kind", "yearly", "--out", book, "--pack", pack, "--quiet")
    assert command("report", folder, *words) == 0
    assert not any("icture" in one for one in openpyxl.load_workbook(book).sheetnames)
    with zipfile.ZipFile(pack) as archive:
        assert not any("picture" in one for one in archive.namelist())
