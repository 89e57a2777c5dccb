"""What all PDF documents share: fonts, page frame, escaped paragraphs, tables with repeated heads.

Text from files and users goes through `paragraph`, which escapes it: reportlab reads markup.
"""

import io
from collections.abc import Callable, Sequence
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
from reportlab.platypus.tableofcontents import TableOfContents

from viewer import __version__
from viewer.site_data.text_catalogue import texts
from viewer.site_data.whole_file import write_whole

FONT, BOLD = "Document", "Document-Bold"
MARGIN = 15 * mm
FOOT = 12 * mm
PADDING = 3
"""Points left and right of a cell's text."""

WIDEST_WORD = 0.3
"""Part of the page's width that one word may claim; longer ones are broken."""


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


@cache
def heading_style(size: float) -> ParagraphStyle:
    """Bold, and never alone at the foot of a page."""
    base = style(size, bold=True, space_after=4)
    return ParagraphStyle(f"heading-{size}", parent=base, keepWithNext=1)


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
    with_head: bool = True,
) -> Flowable:
    """A ruled table whose head is repeated on every page; `widths` in points.

    Columns in `numeric` are set flush right. Without a head `headings` only counts columns.
    """
    head = [paragraph(text, 7.5, bold=True, space_after=0) for text in headings]
    body = [
        [
            text if column in numeric else paragraph(text, 7.5, space_after=0)
            for column, text in enumerate(row)
        ]
        for row in rows
    ]
    heads = [head] if with_head else []
    heights = None if row_height is None else [*([None] * len(heads)), *([row_height] * len(rows))]
    made = Table([*heads, *body], colWidths=list(widths), rowHeights=heights, repeatRows=len(heads))
    commands: list[tuple[object, ...]] = [
        ("FONT", (0, 0), (-1, -1), FONT, 7.5),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("GRID", (0, 0), (-1, -1), 0.4, colors.Color(0.6, 0.6, 0.6)),
        ("LEFTPADDING", (0, 0), (-1, -1), PADDING),
        ("RIGHTPADDING", (0, 0), (-1, -1), PADDING),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
    ]
    if with_head:
        commands.append(("BACKGROUND", (0, 0), (-1, 0), colors.Color(0.92, 0.92, 0.92)))
    commands += [("ALIGN", (column, len(heads)), (column, -1), "RIGHT") for column in numeric]
    made.setStyle(commands)
    return made


def fitted_widths(
    shares: Sequence[float], headings: Sequence[str], rows: Sequence[Sequence[str]]
) -> list[float]:
    """Widths [points] of columns that share the page, by their shares.

    A column too narrow for its longest word takes what that lacks, up to WIDEST_WORD, from those
    that have room: names of strings were broken in the middle of a number.
    """
    register_fonts()
    page = text_width()
    widths = [page * share / sum(shares) for share in shares]
    widest = WIDEST_WORD * page
    needs = []
    for column, heading in enumerate(headings):
        words = {(BOLD, word) for word in heading.split()}
        words |= {(FONT, word) for row in rows for word in row[column].split()}
        longest = max((pdfmetrics.stringWidth(word, font, 7.5) for font, word in words), default=0)
        needs.append(longest + 2 * PADDING + 0.5)
    wanted = [
        min(need, widest) if need > width else width
        for need, width in zip(needs, widths, strict=True)
    ]
    lacking = sum(max(0.0, one - width) for one, width in zip(wanted, widths, strict=True))
    room = [max(0.0, width - need) for need, width in zip(needs, widths, strict=True)]
    if lacking == 0.0 or sum(room) < lacking:
        return widths
    return [
        max(one, width) - lacking * free / sum(room)
        for one, width, free in zip(wanted, widths, room, strict=True)
    ]


class _Entry(Paragraph):
    """A heading that the table of contents lists."""

    def __init__(self, text: str, size: float) -> None:
        super().__init__(escape(text), heading_style(size))
        self.words = text


def contents_entry(text: str, size: float) -> Flowable:
    """A heading of a section, listed in the contents."""
    return _Entry(text, size)


def contents_table() -> Flowable:
    """The contents: every heading made by `contents_entry` with its page."""
    made = TableOfContents()
    made.levelStyles = [style(9)]
    made.dotsMinLevel = 0
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
        said = texts()["report"]["page_of"]
        for number, page in enumerate(self._pages, start=1):
            self.__dict__.update(page)
            self.setFont(FONT, 7)
            self.drawRightString(
                self._pagesize[0] - MARGIN, FOOT / 2, said.format(number=number, total=total)
            )
            super().showPage()
        super().save()


class _StoppedError(Exception):
    """Somebody asked for the layout to end."""


class _Template(BaseDocTemplate):
    """Tells the table of contents where each heading came to lie; ends where it is stopped."""

    stopped: Callable[[], bool]

    def afterPage(self) -> None:  # noqa: N802 (reportlab's name)
        if self.stopped():
            raise _StoppedError

    def afterFlowable(self, flowable: Flowable) -> None:  # noqa: N802 (reportlab's name)
        if isinstance(flowable, _Entry):
            key = f"heading-{self.seq.nextf('heading')}"
            self.canv.bookmarkPage(key)
            self.canv.addOutlineEntry(flowable.words, key, 0)
            words = _shortened(flowable.words, text_width() - 60, 9)
            self.notify("TOCEntry", (0, escape(words), self.page, key))


def write_pdf(
    file: Path,
    title: str,
    foot: str,
    story: Sequence[Flowable],
    wide: bool = False,
    with_contents: bool = False,
    stopped: Callable[[], bool] = lambda: False,
) -> bool:
    """Makes the document: A4, upright or `wide`. Raises OSError when it cannot be written; then
    none is left, and one that was there stays.

    `stopped` is asked at every page; False is returned, and nothing written, once it says yes.
    """
    register_fonts()
    size = landscape(A4) if wide else A4
    made = io.BytesIO()
    document = _Template(
        made,
        pagesize=size,
        leftMargin=MARGIN,
        rightMargin=MARGIN,
        topMargin=MARGIN,
        bottomMargin=MARGIN,
        title=title,
        creator=f"curvewright {__version__}",
    )

    document.stopped = stopped

    def draw_foot(canvas: Canvas, _: BaseDocTemplate) -> None:
        canvas.setFont(FONT, 7)
        canvas.drawString(MARGIN, FOOT / 2, _shortened(foot, size[0] - 2 * MARGIN - 80))

    frame = Frame(MARGIN, MARGIN, size[0] - 2 * MARGIN, size[1] - 2 * MARGIN, 0, 0, 0, 0, id="text")
    document.addPageTemplates([PageTemplate("page", [frame], onPage=draw_foot)])
    build = document.multiBuild if with_contents else document.build
    try:
        build(list(story), canvasmaker=_NumberedCanvas)
    except _StoppedError:
        return False
    write_whole(file, made.getvalue())
    return True


def _shortened(text: str, width: float, size: float = 7) -> str:
    """The text, or as much of it as fits the width [points] at a size, usually the foot's."""
    if pdfmetrics.stringWidth(text, FONT, size) <= width:
        return text
    while text and pdfmetrics.stringWidth(text + "…", FONT, size) > width:
        text = text[:-1]
    return text + "…"


def text_width(wide: bool = False) -> float:
    """Width between the margins [points]."""
    return float((landscape(A4) if wide else A4)[0] - 2 * MARGIN)


def text_height() -> float:
    """Height between the margins of an upright page [points]."""
    return float(A4[1] - 2 * MARGIN)
