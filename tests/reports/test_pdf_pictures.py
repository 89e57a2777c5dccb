"""Pages of a PDF as pictures: what is drawn, how large, and where on the page it lies."""

import io
import shutil
import subprocess

import numpy as np
import pytest
from reportlab.lib.pagesizes import A4, landscape
from reportlab.pdfgen.canvas import Canvas

from viewer.reports import pdf_pictures as module
from viewer.reports.pdf_pictures import PagePicture, PdfPictures, pdf_pictures


@pytest.fixture(scope="module")
def content() -> bytes:
    """Two pages: a red square at the lower left corner and words; a wide empty one."""
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=A4)
    canvas.setFillColorRGB(1, 0, 0)
    canvas.rect(0, 0, 72, 72, stroke=0, fill=1)
    canvas.setFillColorRGB(0, 0, 0)
    canvas.drawString(100, 700, "String CB-A-S07")
    canvas.showPage()
    canvas.setPageSize(landscape(A4))
    canvas.showPage()
    canvas.save()
    return file.getvalue()


@pytest.fixture(scope="module")
def document(content: bytes) -> PdfPictures:
    return pdf_pictures(content)


def colours(picture: PagePicture) -> np.ndarray:
    """Rows of pixels as red, green, blue."""
    rows = np.frombuffer(picture.pixels, np.uint8).reshape(picture.height, picture.stride)
    return rows[:, : 4 * picture.width].reshape(picture.height, picture.width, 4)[:, :, 2::-1]


def test_the_pages_are_known_by_their_sizes(document):
    assert document.sizes == (pytest.approx(A4, abs=0.01), pytest.approx(landscape(A4), abs=0.01))


@pytest.mark.parametrize("scale", [0.5, 1.0, 2.0])
def test_a_square_inch_is_a_square_inch(document, scale):
    drawn = colours(document.draw(0, scale))
    red = np.all(drawn == (255, 0, 0), axis=2)
    assert red.sum() ** 0.5 == pytest.approx(72 * scale, abs=1.5)
    rows, columns = np.nonzero(red)
    assert columns.max() == pytest.approx(72 * scale, abs=1.5)
    assert drawn.shape[0] - rows.min() == pytest.approx(72 * scale, abs=1.5)


def test_an_empty_page_is_white(document):
    assert np.all(colours(document.draw(1, 1.0)) == 255)


def test_a_page_never_takes_more_than_its_share_of_memory(document, monkeypatch):
    monkeypatch.setattr(module, "MOST_PIXELS", 10_000)
    picture = document.draw(0, 8.0)
    assert picture.width * picture.height == pytest.approx(10_000, rel=0.03)
    assert picture.scale == 8.0


def test_words_of_a_page(document):
    assert document.words(0).strip() == "String CB-A-S07"
    assert document.words(1).strip() == ""


def test_what_is_no_pdf_is_said():
    with pytest.raises(ValueError, match="cannot be shown"):
        pdf_pictures(b"no PDF")


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler is not installed")
def test_drawn_as_another_renderer_draws_it(content, document):
    """poppler's pdftoppm at 72 dots an inch: the same page, apart from the edges of letters."""
    ran = subprocess.run(
        ["pdftoppm", "-r", "72", "-f", "1", "-l", "1", "-"],
        input=content,
        capture_output=True,
        check=True,
    )
    wide, high = (int(one) for one in ran.stdout.split(b"\n", 3)[1].split())
    other = np.frombuffer(ran.stdout[-3 * wide * high :], np.uint8).reshape(high, wide, 3)
    ours = colours(document.draw(0, 1.0))
    assert ours.shape == other.shape
    differing = np.abs(ours.astype(int) - other.astype(int)).max(axis=2) > 64
    assert differing.mean() < 0.002
