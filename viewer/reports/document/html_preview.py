"""A document as HTML for a quick look: the summary, then the beginning of what follows."""

from collections.abc import Sequence
from html import escape

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
from viewer.reports.document.number_words import localised
from viewer.site_data.text_catalogue import texts

ROWS = 12
"""Rows of a table that are shown; the number of the others is told."""
SECTIONS = 8
"""Sections that are shown whole; the others by their headings."""


def document_html(document: Document) -> str:
    """The document's words and tables; plots are named by their captions."""
    words = texts(document.details.language)["report"]
    parts = [f"<h2>{escape(document.title)}</h2>"]
    for place, section in enumerate(document.sections):
        parts.append(f"<h3>{escape(section.heading)}</h3>")
        if place < SECTIONS or place == len(document.sections) - 1:
            parts += [_block(block, document.details, words) for block in section.blocks]
        else:
            parts.append(f"<p><i>{escape(words['as_before'])}</i></p>")
    return "\n".join(parts)


def _block(block: Block, details: ReportDetails, words: dict[str, str]) -> str:
    if isinstance(block, Paragraph):
        line = escape(_said(block.text, block.as_entered, details)).replace("\n", "<br>")
        return f"<p><b>{line}</b></p>" if block.strong else f"<p>{line}</p>"
    if isinstance(block, BulletList):
        said = [escape(_said(item, block.as_entered, details)) for item in block.items]
        return "<ul>" + "".join(f"<li>{item}</li>" for item in said) + "</ul>"
    if isinstance(block, Facts):
        return _rows([(escape(name), escape(value)) for name, value in block.entries])
    if isinstance(block, FigureBlock):
        return f"<p>▧ <i>{escape(words['plot'])}: {escape(block.caption)}</i></p>"
    return _table(block, details, words)


def _table(block: TableBlock, details: ReportDetails, words: dict[str, str]) -> str:
    head = [f"<b>{escape(column.title)}</b>" for column in block.columns]
    body = [
        [
            escape(_said(text, column.as_entered, details))
            for text, column in zip(row, block.columns, strict=True)
        ]
        for row in block.printed()[:ROWS]
    ]
    name = f"<p><b>{escape(block.name)}</b></p>" if block.headed else ""
    if not body:
        return f"{name}<p>{escape(words['no_rows'])}</p>"
    hidden = len(block.rows) - len(body)
    more = f"<p><i>{escape(words['more_rows'].format(count=hidden))}</i></p>" if hidden else ""
    note = f"<p><small>{escape(localised(block.note, details.decimal_comma))}</small></p>"
    return name + _rows([head, *body]) + more + (note if block.note else "")


def _rows(rows: Sequence[Sequence[str]]) -> str:
    lines = ["<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>" for row in rows]
    return '<table border="1" cellspacing="0" cellpadding="3">' + "".join(lines) + "</table>"


def _said(text: str, as_entered: bool, details: ReportDetails) -> str:
    return text if as_entered else localised(text, details.decimal_comma)
