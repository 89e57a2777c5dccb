"""Tidy tables to CSV, Excel and Parquet: names of pv-terms, units documented, no formulas.

Numbers are written so that they read back unchanged: in CSV and Parquet every bit, in Excel 16
significant digits, since spreadsheets keep no more than 15. Cells of text that a spreadsheet would
run as a formula are disarmed with an apostrophe in CSV; in Excel they are stored as text, in
Parquet there are no formulas.
"""

import io
from collections.abc import Hashable
from pathlib import Path

import pandas as pd
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.worksheet._write_only import WriteOnlyWorksheet

from viewer.physics.nomenclature import QUANTITIES
from viewer.site_data.cell_text import plain_cell
from viewer.site_data.results_mark import COLUMNS_FILE
from viewer.site_data.whole_file import drafted, write_whole

try:
    import pyarrow
    from pyarrow import parquet
except ImportError:  # an extra of the package, needed for Parquet alone
    pyarrow = None

SUFFIXES = (".csv", ".xlsx", ".parquet")
EXCEL_ROWS = 1_048_575
"""Rows a sheet holds below its heading (ECMA-376)."""

MEANINGS = {
    "trace": "path of the trace's file, and # and a name if the file holds several",
    "combiner": "combiner box",
    "string": "string",
    "measured_at": "time of the measurement, ISO 8601",
    "serial": "serial number",
    "note": "note",
    "sha256": "SHA-256 of the file's bytes",
    "remarks": "what the reader noticed",
    "of": "whose key points: measured, predicted, or translated to standard test conditions",
    "what": "signature (what the curve's shape shows) or cause (what may have produced it)",
    "name": "kind of signature or cause",
    "size": "size of the signature in its unit",
    "unit": "unit of the size",
    "likelihood": "of the cause, 0 to 1",
    "text": "the finding in words",
    "next_check": "what to check next",
    "problem": "why the file gave no trace",
}
"""Columns that are no quantities of the nomenclature."""


class ExportError(ValueError):
    """A table that cannot be written that way; the message is one sentence."""


def export_table(table: pd.DataFrame, path: Path) -> list[Path]:
    """Writes the table by the ending of `path`; returns the files written.

    Beside a CSV file goes NAME.columns.csv with each column's unit and meaning; a workbook has
    them on a second sheet, Parquet in its fields' metadata. Raises ExportError or OSError.
    """
    suffix = path.suffix.lower()
    if suffix == ".csv":
        return _to_csv(table, path)
    if suffix == ".xlsx":
        return _to_excel(table, path)
    if suffix == ".parquet":
        return _to_parquet(table, path)
    raise ExportError(f"{path.name} must end in one of {', '.join(SUFFIXES)}.")


def column_table(table: pd.DataFrame) -> pd.DataFrame:
    """One row for each column of the table: column, unit, meaning."""
    rows = [(str(name), *_unit_and_meaning(str(name))) for name in table.columns]
    return pd.DataFrame(rows, columns=["column", "unit", "meaning"])


def _unit_and_meaning(name: str) -> tuple[str, str]:
    if name in QUANTITIES:
        return QUANTITIES[name].unit, QUANTITIES[name].meaning
    return "", MEANINGS.get(name, "")


def _text_columns(table: pd.DataFrame) -> list[Hashable]:
    return [name for name in table.columns if not pd.api.types.is_numeric_dtype(table[name])]


def _to_csv(table: pd.DataFrame, path: Path) -> list[Path]:
    disarmed = table.copy(deep=False)
    for name in _text_columns(table):
        disarmed[name] = table[name].map(plain_cell, na_action="ignore")
    beside = path.with_suffix(COLUMNS_FILE)
    for file, one in ((path, disarmed), (beside, column_table(table))):
        with drafted(file) as draft:
            one.to_csv(draft, index=False, lineterminator="\n", compression=None)
    return [path, beside]


def _to_excel(table: pd.DataFrame, path: Path) -> list[Path]:
    if len(table) > EXCEL_ROWS:
        raise ExportError(
            f"{path.name} would need {len(table):,} rows, a sheet holds {EXCEL_ROWS:,}; "
            "write CSV or Parquet instead."
        )
    book = Workbook(write_only=True)
    for title, one in (("table", table), ("columns", column_table(table))):
        sheet = book.create_sheet(title)
        sheet.freeze_panes = "A2"
        sheet.append([str(name) for name in one.columns])
        columns = [_excel_cells(sheet, one[name]) for name in one.columns]
        for row in zip(*columns, strict=True):
            sheet.append(row)
    made = io.BytesIO()
    book.save(made)
    write_whole(path, made.getvalue())
    return [path]


def _excel_cells(sheet: WriteOnlyWorksheet, column: pd.Series) -> list[object]:
    """Values of a column; text that begins with = is stored as text all the same."""
    if pd.api.types.is_numeric_dtype(column):
        return [None if value != value else value for value in column.tolist()]
    cells: list[object] = []
    for value in column:
        text = None if pd.isna(value) else ILLEGAL_CHARACTERS_RE.sub("", str(value))
        if text is not None and text.startswith("="):
            cell = WriteOnlyCell(sheet, text)
            cell.data_type = "s"
            cells.append(cell)
        else:
            cells.append(text)
    return cells


def _to_parquet(table: pd.DataFrame, path: Path) -> list[Path]:
    if pyarrow is None:
        raise ExportError(f"writing {path.name} needs pyarrow: pip install 'curvewright[parquet]'.")
    arrow = pyarrow.Table.from_pandas(table, preserve_index=False)
    fields = [
        field.with_metadata(
            dict(zip(("unit", "meaning"), _unit_and_meaning(field.name), strict=True))
        )
        for field in arrow.schema
    ]
    with drafted(path) as draft:
        parquet.write_table(arrow.cast(pyarrow.schema(fields, arrow.schema.metadata)), draft)
    return [path]
