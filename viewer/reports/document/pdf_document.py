"""Prints a document as PDF, block by block, so that progress and cancel come in between."""

import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.platypus import Flowable, Image, KeepTogether, PageBreak, Spacer

from viewer.reports.curve_figure import CurveFigure
from viewer.reports.curve_figure_file import drawn_figure
from viewer.reports.document.content import (
    Block,
    BulletList,
    Document,
    Facts,
    FigureBlock,
    Paragraph,
    ReportDetails,
    TableBlock,
)
from viewer.reports.pdf_page import (
    contents_entry,
    contents_table,
    paragraph,
    table,
    text_height,
    text_width,
    write_pdf,
)

LOGO_HEIGHT = 16 * mm
LOGO_WIDTH = 60 * mm
FIGURE_DPI = 170
INCH = 72.0


@dataclass(frozen=True)
class WritingStep:
    done: int
    total: int


def write_document(document: Document, file: Path) -> Iterator[WritingStep]:
    """Makes the PDF; a step a section. Nothing is written when the iteration is given up.

    Raises OSError when the file cannot be written.
    """
    story: list[Flowable] = [*_head(document)]
    total = len(document.sections) + 1
    for place, section in enumerate(document.sections):
        if section.on_new_page and place > 0:
            story.append(PageBreak())
        story.append(contents_entry(section.heading, 12))
        for block in section.blocks:
            story += _flowables(block, document.details)
        story.append(Spacer(1, 3 * mm))
        if place == 0:
            story += [PageBreak(), paragraph("Contents", 12, bold=True), contents_table()]
        yield WritingStep(place + 1, total)
    write_pdf(file, document.title, document.title, story, with_contents=True)
    yield WritingStep(total, total)


def _head(document: Document) -> list[Flowable]:
    head: list[Flowable] = []
    logo = document.details.logo
    if logo is not None and logo.is_file():
        head += [_logo(logo), Spacer(1, 2 * mm)]
    return [*head, paragraph(document.title, 16, bold=True, space_after=6)]


def _logo(file: Path) -> Flowable:
    """The logo as large as its box allows, never stretched."""
    wide, high = ImageReader(str(file)).getSize()
    scale = min(LOGO_WIDTH / wide, LOGO_HEIGHT / high)
    return Image(str(file), wide * scale, high * scale, hAlign="LEFT")


def _flowables(block: Block, details: ReportDetails) -> list[Flowable]:
    if isinstance(block, Paragraph):
        return [paragraph(block.text, 9, bold=block.strong)]
    if isinstance(block, BulletList):
        return [paragraph(f"• {item}", 8.5) for item in block.items]
    if isinstance(block, Facts):
        return [_facts(block), Spacer(1, 2 * mm)]
    if isinstance(block, FigureBlock):
        return [_figure(block)]
    return _table(block, details)


def _facts(block: Facts) -> Flowable:
    width = text_width()
    return table(("", ""), block.entries, (0.3 * width, 0.7 * width), with_head=False)


def _figure(block: FigureBlock) -> Flowable:
    width, height = text_width(), block.height * text_height()
    picture = Image(_picture(block.figure, width, height), width, height)
    return KeepTogether([picture, paragraph(block.caption, 8)])


def _picture(figure: CurveFigure, width: float, height: float) -> io.BytesIO:
    made = io.BytesIO()
    drawn_figure(figure, (width / INCH, height / INCH)).savefig(made, format="png", dpi=FIGURE_DPI)
    made.seek(0)
    return made


def _table(block: TableBlock, details: ReportDetails) -> list[Flowable]:
    shares = [column.share for column in block.columns]
    widths = [text_width() * share / sum(shares) for share in shares]
    numeric = [k for k, column in enumerate(block.columns) if column.decimals is not None]
    rows = [
        [localised(text, place in numeric, details) for place, text in enumerate(row)]
        for row in block.printed()
    ]
    made: list[Flowable] = [paragraph(block.name, 9.5, bold=True)]
    if rows:
        made.append(table([column.title for column in block.columns], rows, widths, numeric))
    else:
        made.append(paragraph("none", 8.5))
    if block.note:
        made.append(paragraph(block.note, 7.5))
    return [*made, Spacer(1, 3 * mm)]


def localised(text: str, number: bool, details: ReportDetails) -> str:
    """A printed number with the decimal comma where it is asked for."""
    return text.replace(".", ",") if number and details.decimal_comma else text
