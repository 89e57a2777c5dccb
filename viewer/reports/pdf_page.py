"""What all PDF documents share: fonts, page frame, escaped paragraphs, tables with repeated heads.

Text from files and users goes through `paragraph`, which escapes it: reportlab reads markup.
"""

from collections.abc import Sequence
from functools import cache
from pathlib import Path
from xml.sax.saxutils import escape

import matplotlib
from reportlab.lib import colors
from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate, Paragraph, Table

from viewer import __version__

FONT, BOLD = "Document", "Document-Bold"
MARGIN = 15 * mm
FOOT = 12 * mm


@cache
def register_fonts() -> None:
    """DejaVu Sans as matplotlib brings it: names of sites and strings may be in any script."""
    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    pdfmetrics.registerFont(TTFont(FONT, folder / "DejaVuSans.ttf"))
    pdfmetrics.registerFont(TTFont(BOLD, folder / "DejaVuSans-Bold.ttf"))
    pdfmetrics.registerFontFamily(FONT, normal=FONT, bold=BOLD, italic=FONT, boldItalic=BOLD)


@cache
def style(size: float, bold: bool = False, space_after: float = 3.0) -> ParagraphStyle:
    """The one text style, in a size [points]."""
    register_fonts()
    return ParagraphStyle(
        f"text-{size}-{bold}-{space_after}",
        fontName=BOLD if bold else FONT,
        fontSize=size,
        leading=size * 1.3,
        spaceAfter=space_after,
        splitLongWords=True,
    )


def paragraph(
    text: str, size: float = 8.5, bold: bool = False, space_after: float = 3.0
) -> Flowable:
    """A paragraph of plain text; whatever looks like markup is printed as it stands."""
    return Paragraph(escape(text), style(size, bold, space_after))


def table(
    headings: Sequence[str],
    rows: Sequence[Sequence[str]],
    widths: Sequence[float],
    numeric: Sequence[int] = (),
    row_height: float | None = None,
) -> Flowable:
    """A ruled table whose head is repeated on every page; `widths` are shares of the text width.

    Columns in `numeric` are set flush right.
    """
    head = [paragraph(text, 7.5, bold=True, space_after=0) for text in headings]
    body = [
        [
            text if column in numeric else paragraph(text, 7.5, space_after=0)
            for column, text in enumerate(row)
        ]
        for row in rows
    ]
    heights = None if row_height is None else [None, *([row_height] * len(rows))]
    made = Table([head, *body], colWidths=list(widths), rowHeights=heights, repeatRows=1)
    commands: list[tuple[object, ...]] = [
        ("FONT", (0, 0), (-1, -1), FONT, 7.5),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("GRID", (0, 0), (-1, -1), 0.4, colors.Color(0.6, 0.6, 0.6)),
        ("BACKGROUND", (0, 0), (-1, 0), colors.Color(0.92, 0.92, 0.92)),
        ("LEFTPADDING", (0, 0), (-1, -1), 3),
        ("RIGHTPADDING", (0, 0), (-1, -1), 3),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
    ]
    commands += [("ALIGN", (column, 1), (column, -1), "RIGHT") for column in numeric]
    made.setStyle(commands)
    return made


class _NumberedCanvas(Canvas):
    """Writes "page n of m", which is known only once the last page is made."""

    def __init__(self, *words: object, **named: object) -> None:
        super().__init__(*words, **named)
        self._pages: list[dict[str, object]] = []

    def showPage(self) -> None:  # noqa: N802 (reportlab's name)
        self._pages.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        total = len(self._pages)
        for number, page in enumerate(self._pages, start=1):
            self.__dict__.update(page)
            self.setFont(FONT, 7)
            self.drawRightString(self._pagesize[0] - MARGIN, FOOT / 2, f"page {number} of {total}")
            super().showPage()
        super().save()


def write_pdf(
    file: Path, title: str, foot: str, story: Sequence[Flowable], wide: bool = False
) -> None:
    """Makes the document: A4, upright or `wide`. Raises OSError when it cannot be written."""
    register_fonts()
    size = landscape(A4) if wide else A4
    document = BaseDocTemplate(
        str(file),
        pagesize=size,
        leftMargin=MARGIN,
        rightMargin=MARGIN,
        topMargin=MARGIN,
        bottomMargin=MARGIN,
        title=title,
        creator=f"curvewright {__version__}",
    )

    def draw_foot(canvas: Canvas, _: BaseDocTemplate) -> None:
        canvas.setFont(FONT, 7)
        canvas.drawString(MARGIN, FOOT / 2, foot)

    frame = Frame(MARGIN, MARGIN, size[0] - 2 * MARGIN, size[1] - 2 * MARGIN, 0, 0, 0, 0, id="text")
    document.addPageTemplates([PageTemplate("page", [frame], onPage=draw_foot)])
    document.build(list(story), canvasmaker=_NumberedCanvas)


def text_width(wide: bool = False) -> float:
    """Width between the margins [points]."""
    return float((landscape(A4) if wide else A4)[0] - 2 * MARGIN)
