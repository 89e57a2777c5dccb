"""The pages of a PDF as pictures and as words, for looking at a document without printing it.

PDFium draws one thing at a time, whatever the document: every call of it is made under one lock,
and a document is open only inside a call, so that nothing of it is left to be freed elsewhere.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from threading import Lock
from typing import Any

POINTS_AN_INCH = 72.0
MOST_PIXELS = 16_000_000
"""Of one picture, 64 MB: a page that is shown larger is drawn so and stretched."""

_one_at_a_time = Lock()


@dataclass(frozen=True, eq=False)
class PagePicture:
    """One page drawn: rows of `stride` bytes from the top, 4 bytes a pixel (blue first, no alpha).

    scale: pixels a point that it was asked for.
    """

    width: int
    height: int
    stride: int
    pixels: bytes
    scale: float


@dataclass(frozen=True, eq=False)
class PdfPictures:
    """A PDF held as bytes, with the size of each page [points]."""

    content: bytes
    sizes: tuple[tuple[float, float], ...]

    def draw(self, place: int, scale: float) -> PagePicture:
        """Page `place`, from 0, at `scale` pixels a point, or at MOST_PIXELS if that is less."""
        wide, high = self.sizes[place]
        drawn = min(scale, (MOST_PIXELS / (wide * high)) ** 0.5)
        with _opened(self.content) as document:
            page = document[place]
            bitmap = page.render(scale=drawn, prefer_bgrx=True)
            made = PagePicture(
                bitmap.width, bitmap.height, bitmap.stride, bytes(bitmap.buffer), scale
            )
            bitmap.close()
            page.close()
        return made

    def words(self, place: int) -> str:
        """What is written on page `place`, line by line."""
        with _opened(self.content) as document:
            page = document[place]
            text = page.get_textpage()
            said = str(text.get_text_bounded())
            text.close()
            page.close()
        return said


def pdf_pictures(content: bytes) -> PdfPictures:
    """Looks through the pages. Raises ValueError when the bytes are no PDF."""
    with _opened(content) as document:
        sizes = tuple(document.get_page_size(place) for place in range(len(document)))
    return PdfPictures(content, sizes)


@contextmanager
def _opened(content: bytes) -> Iterator[Any]:
    import pypdfium2

    with _one_at_a_time:
        try:
            document = pypdfium2.PdfDocument(content)
        except pypdfium2.PdfiumError as problem:
            raise ValueError(f"The document cannot be shown: {problem}") from None
        try:
            yield document
        finally:
            document.close()
