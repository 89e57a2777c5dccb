"""Excel workbooks to grids of cells. Formulas are not evaluated: their stored values are read."""

import io
import re
import warnings
import zipfile
from datetime import date, datetime
from typing import TYPE_CHECKING

from viewer.reading.notation.limits import (
    ROW_LIMIT,
    UNPACKED_LIMIT,
    Deadline,
    NoSweepError,
    UnreadableFileError,
    check_rows,
)
from viewer.reading.tables.cell_grid import CellGrid, value_grid
from viewer.site_data.results_mark import SENTENCE, WORKBOOK_CATEGORY

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet._read_only import ReadOnlyWorksheet

WORKBOOK_MARK = b"PK\x03\x04"

HIGHEST_RATIO = 200
"""Unpacked over packed size beyond which a file is taken for a trap; workbooks reach 20."""

MOST_COLUMNS = 256
MOST_SHEETS = 200


def read_workbook_grids(data: bytes, source: str, deadline: Deadline) -> list[CellGrid]:
    """A grid for each sheet that holds anything. Raises UnreadableFileError."""
    deadline.allow_for(_check_archive(data, source))
    try:
        book = _opened(data)
        if book.properties.category == WORKBOOK_CATEGORY:
            raise NoSweepError(f"{source} {SENTENCE}")
        sheets = book.worksheets[:MOST_SHEETS]
        grids = [_grid(sheet, source, deadline) for sheet in sheets]
        lacking = not any(_holds_numbers(grid) for grid in grids) and _holds_formulas(data)
    except UnreadableFileError:
        raise
    except Exception as error:
        raise UnreadableFileError(
            f"{source} is a damaged workbook or none at all; save it again as .xlsx or CSV."
        ) from error
    if lacking:
        raise UnreadableFileError(
            f"{source} holds formulas without their results, which are not computed here; open "
            "and save it in a spreadsheet program, or save values only."
        )
    return [grid for grid in grids if grid.rows]


def _opened(data: bytes) -> "Workbook":
    """Without openpyxl's warnings, which are about styles and the like."""
    from openpyxl import load_workbook  # not above: it is slow to load

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)


def _holds_numbers(grid: CellGrid) -> bool:
    return any(
        sum(grid.style.number(cell) is not None for cell in row.cells if cell) >= 2
        for row in grid.rows[:2_000]
    )


def _holds_formulas(data: bytes) -> bool:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        sheets = [name for name in archive.namelist() if name.startswith("xl/worksheets/")]
        for name in sheets[:MOST_SHEETS]:
            with archive.open(name) as part:
                if re.search(rb"<f[ >]", part.read(1_000_000)):
                    return True
    return False


def _check_archive(data: bytes, source: str) -> int:
    """The size of all that is in it, told before anything is unpacked.

    Raises UnreadableFileError if that is too much, or for markup that could swell.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
            size = sum(entry.file_size for entry in entries)
            if size > UNPACKED_LIMIT or size > HIGHEST_RATIO * max(len(data), 10_000):
                raise UnreadableFileError(
                    f"{source} would unpack to {size:,} bytes; such a workbook is refused, "
                    "so save the sheet as CSV."
                )
            names = {entry.filename for entry in entries}
            if "[Content_Types].xml" not in names or not any("xl/" in name for name in names):
                raise UnreadableFileError(
                    f"{source} is a compressed file but no Excel workbook; unpack it first."
                )
            for entry in entries:
                if entry.filename.endswith((".xml", ".rels")):
                    with archive.open(entry) as part:
                        if b"<!DOCTYPE" in part.read(2_000).upper():
                            raise UnreadableFileError(
                                f"{source} declares its own markup, which no workbook needs; "
                                "it is refused."
                            )
            return size
    except UnreadableFileError:
        raise
    except Exception as error:
        raise UnreadableFileError(
            f"{source} is a damaged workbook; save it again as .xlsx or CSV."
        ) from error


def _grid(sheet: "ReadOnlyWorksheet", source: str, deadline: Deadline) -> CellGrid:
    sheet.reset_dimensions()
    rows: list[tuple[int, list[str]]] = []
    read = sheet.iter_rows(max_row=ROW_LIMIT + 1, max_col=MOST_COLUMNS, values_only=True)
    for number, values in enumerate(read, start=1):
        if number % 256 == 0:
            deadline.check()
            check_rows(number, source)
        cells = [_cell(value) for value in values]
        while cells and not cells[-1]:
            cells.pop()
        if cells:
            rows.append((number, cells))
        elif rows and rows[-1][1]:
            rows.append((number, []))
    return value_grid(rows, sheet.title)


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, datetime | date):
        return value.isoformat()
    return str(value).strip()
