"""Prints a document as PDF, block by block, so that progress and cancel come in between."""

import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from reportlab.lib.units import inch, mm
from reportlab.lib.utils import ImageReader
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    Image,
    KeepInFrame,
    KeepTogether,
    PageBreak,
    Spacer,
    Table,
)

from viewer.reports.curve_figure_file import drawn_figure
from viewer.reports.document.content import (
    Block,
    BulletList,
    Document,
    Facts,
    FigureBlock,
    Paragraph,
    PictureBlock,
    PrintedPicture,
    ReportDetails,
    Section,
    TableBlock,
)
from viewer.reports.document.number_words import localised
from viewer.reports.pdf_page import (
    contents_entry,
    contents_table,
    fitted_widths,
    paragraph,
    table,
    text_height,
    text_width,
    write_pdf,
)
from viewer.reports.print_canvas import DrawnFigure
from viewer.site_data.text_catalogue import texts

LOGO_HEIGHT = 16 * mm
LOGO_WIDTH = 60 * mm
PICTURE_WIDTH = 86 * mm
PICTURE_HEIGHT = 60 * mm
ROOM_FOR_HEADING = 40 * mm
"""A heading begins a new page where less than this is left under it."""


@dataclass(frozen=True)
class WritingStep:
    done: int
    total: int


def never() -> bool:
    """Nobody stops it."""
    return False


def write_document(
    document: Document, file: Path, stopped: Callable[[], bool] = never
) -> Iterator[WritingStep]:
    """Makes the PDF; a step a section. Nothing is written when the iteration is given up.

    While pages are laid out, which is one step, `stopped` is asked at every page; once it says
    yes the work ends without a file.

    Raises OSError when the file cannot be written, ValueError when the logo cannot be read.
    """
    total = len(document.sections) + 1
    words = texts(document.details.language)["report"]
    story: list[Flowable] = []
    for place, section in enumerate(document.sections):
        if place == 0:
            story += [*_first_page(document, section), PageBreak()]
            story += [paragraph(words["contents"], 12, bold=True), contents_table(), PageBreak()]
        else:
            if section.on_new_page:
                _leave_no_room_below(story)
            story += _section(document, section, after_contents=place == 1)
        yield WritingStep(place + 1, total)
    _leave_no_room_below(story)
    if write_pdf(file, document.title, document.title, story, with_contents=True, stopped=stopped):
        yield WritingStep(total, total)


def _leave_no_room_below(story: list[Flowable]) -> None:
    """Below a full page it would make a page with nothing on it."""
    while isinstance(story[-1], Spacer):
        story.pop()


def _first_page(document: Document, section: Section) -> list[Flowable]:
    """The summary: one page, made smaller as a whole where long entries would overflow it."""
    head = [*_head(document), contents_entry(section.heading, 12)]
    width, left = text_width(), text_height()
    for one in head:
        left -= one.wrap(width, left)[1] + one.getSpaceAfter()
    body = [flowable for block in section.blocks for flowable in _flowables(block, document)]
    body = [one for one in body if not isinstance(one, CondPageBreak)]
    return [*head, KeepInFrame(width, left - 6, body, mode="shrink", hAlign="LEFT")]


def _section(document: Document, section: Section, after_contents: bool) -> list[Flowable]:
    begin: Flowable = CondPageBreak(ROOM_FOR_HEADING)
    if section.on_new_page:
        begin = PageBreak()
    body = [flowable for block in section.blocks for flowable in _flowables(block, document)]
    started = [] if after_contents else [begin]
    return [*started, contents_entry(section.heading, 12), *body, Spacer(1, 3 * mm)]


def _head(document: Document) -> list[Flowable]:
    head: list[Flowable] = []
    logo = document.details.logo
    if logo is not None:
        head += [_logo(logo), Spacer(1, 2 * mm)]
    return [*head, paragraph(document.title, 16, bold=True, space_after=6)]


def _logo(file: Path) -> Flowable:
    """The logo as large as its box allows, never stretched. Raises ValueError."""
    try:
        wide, high = ImageReader(str(file)).getSize()
    except OSError:
        raise ValueError(
            f"{file.name}: the logo cannot be read; give a PNG or JPEG picture."
        ) from None
    scale = min(LOGO_WIDTH / wide, LOGO_HEIGHT / high)
    return Image(str(file), wide * scale, high * scale, hAlign="LEFT")


def _flowables(block: Block, document: Document) -> list[Flowable]:
    details = document.details
    if isinstance(block, Paragraph):
        return [paragraph(_said(block.text, block.as_entered, details), 9, bold=block.strong)]
    if isinstance(block, BulletList):
        said = [_said(item, block.as_entered, details) for item in block.items]
        return [paragraph(f"• {item}", 8.5) for item in said]
    if isinstance(block, Facts):
        return [_facts(block), Spacer(1, 2 * mm)]
    if isinstance(block, FigureBlock):
        return [_figure(block, details)]
    if isinstance(block, PictureBlock):
        return _pictures(block)
    return _table(block, details)


def _said(text: str, as_entered: bool, details: ReportDetails) -> str:
    return text if as_entered else localised(text, details.decimal_comma)


def _facts(block: Facts) -> Flowable:
    width = text_width()
    return table(("", ""), block.entries, (0.3 * width, 0.7 * width), with_head=False)


def _figure(block: FigureBlock, details: ReportDetails) -> Flowable:
    size = text_width() / inch, block.height * text_height() / inch
    sheet = drawn_figure(block.figure, size, block.marks, decimal_comma=details.decimal_comma)
    return KeepTogether([DrawnFigure(sheet), paragraph(block.caption, 8, space_after=6)])


def _pictures(block: PictureBlock) -> list[Flowable]:
    """Two a row, each with its caption; one that cannot be shown is named with the reason."""
    made: list[Flowable] = []
    cells = [_picture(one) for one in block.pictures]
    for first in range(0, len(cells), 2):
        row = cells[first : first + 2]
        row += [[]] * (2 - len(row))
        grid = Table([row], colWidths=[text_width() / 2] * 2)
        grid.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0)])
        made += [grid, Spacer(1, 1.5 * mm)]
    return made


def _picture(one: PrintedPicture) -> list[Flowable]:
    try:
        content = io.BytesIO(one.load())
    except (ValueError, OSError) as problem:
        return [paragraph(one.caption, 7.5), paragraph(str(problem), 7.5)]
    wide, high = ImageReader(content).getSize()
    scale = min(PICTURE_WIDTH / wide, PICTURE_HEIGHT / high)
    content.seek(0)
    image = Image(content, wide * scale, high * scale, hAlign="LEFT")
    return [image, Spacer(1, 1 * mm), paragraph(one.caption, 7.5)]


def _table(block: TableBlock, details: ReportDetails) -> list[Flowable]:
    numeric = [k for k, column in enumerate(block.columns) if column.decimals is not None]
    entered = {k for k, column in enumerate(block.columns) if column.as_entered}
    rows = [
        [_said(text, place in entered, details) for place, text in enumerate(row)]
        for row in block.printed()
    ]
    titles = [column.title for column in block.columns]
    widths = fitted_widths([column.share for column in block.columns], titles, rows)
    made: list[Flowable] = [CondPageBreak(ROOM_FOR_HEADING)]
    made += [paragraph(block.name, 9.5, bold=True)] if block.headed else []
    if rows:
        made.append(table(titles, rows, widths, numeric))
    else:
        made.append(paragraph(texts(details.language)["report"]["no_rows"], 8.5))
    if block.note:
        note = localised(block.note, details.decimal_comma)
        made += [Spacer(1, 1.5 * mm), paragraph(note, 7.5)]
    return [*made, Spacer(1, 3 * mm)]
