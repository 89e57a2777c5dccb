"""The numbers of a document as a workbook: one sheet a table, numbers as numbers."""

import io
import re
from pathlib import Path

import xlsxwriter
from xlsxwriter.worksheet import Worksheet

from viewer.reports.document.content import Column, Document, Facts, TableBlock, Value
from viewer.site_data.cell_text import plain_cell
from viewer.site_data.results_mark import WORKBOOK_CATEGORY
from viewer.site_data.whole_file import write_whole

NAME_LIMIT = 31
"""Characters of a sheet's name that spreadsheet programs take."""
WIDEST = 60


def write_workbook(document: Document, file: Path) -> None:
    """Writes the workbook. Raises OSError when it cannot be written; then none is left."""
    made = io.BytesIO()
    with xlsxwriter.Workbook(
        made,
        {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "nan_inf_to_errors": True,
        },
    ) as book:
        book.set_properties({"category": WORKBOOK_CATEGORY})
        head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
        _write_facts(book, head, document)
        used: set[str] = {"document"}
        for block in document.tables():
            _write_table(book, head, block, used)
    write_whole(file, made.getvalue())


def _write_facts(book: xlsxwriter.Workbook, head: object, document: Document) -> None:
    sheet = book.add_worksheet("Document")
    sheet.write_string(0, 0, plain_cell(document.title), head)
    row = 2
    for section in document.sections:
        for block in section.blocks:
            if isinstance(block, Facts):
                for name, value in block.entries:
                    sheet.write_string(row, 0, plain_cell(name))
                    sheet.write_string(row, 1, plain_cell(value))
                    row += 1
    sheet.set_column(0, 1, 30)


def _write_table(
    book: xlsxwriter.Workbook, head: object, block: TableBlock, used: set[str]
) -> None:
    sheet = book.add_worksheet(_sheet_name(block.name, used))
    for place, column in enumerate(block.columns):
        sheet.write_string(0, place, column.title, head)
        pattern = "0" + ("." + "0" * column.decimals if column.decimals else "")
        form = None if column.decimals is None else book.add_format({"num_format": pattern})
        sheet.set_column(place, place, _width(column, block, place), form)
    for number, row in enumerate(block.rows, start=1):
        for place, value in enumerate(row):
            _write_cell(sheet, number, place, value)
    sheet.freeze_panes(1, 0)
    if block.rows:
        sheet.autofilter(0, 0, len(block.rows), len(block.columns) - 1)


def _write_cell(sheet: Worksheet, row: int, column: int, value: Value) -> None:
    if value is None or value != value:  # NaN differs from itself: an empty cell
        return
    if isinstance(value, str):
        sheet.write_string(row, column, plain_cell(value))
    else:
        sheet.write_number(row, column, value)


def _width(column: Column, block: TableBlock, place: int) -> float:
    longest = max((len(column.text(row[place])) for row in block.rows), default=0)
    return float(min(WIDEST, max(len(column.title), longest) + 2))


def _sheet_name(name: str, used: set[str]) -> str:
    """A name that spreadsheet programs take and that no other sheet has."""
    cleaned = re.sub(r"[\[\]:*?/\\']", " ", name).strip()[:NAME_LIMIT] or "Table"
    made, number = cleaned, 2
    while made.lower() in used:
        tail = f" {number}"
        made, number = cleaned[: NAME_LIMIT - len(tail)] + tail, number + 1
    used.add(made.lower())
    return made
