"""Any file's bytes to the tables in it: text, workbook, JSON or Parquet."""

from collections.abc import Sequence
from dataclasses import dataclass

from viewer.reading.notation.cut_line import cut_line, cut_words
from viewer.reading.notation.limits import Deadline, UnreadableFileError, check_size
from viewer.reading.notation.number_style import NumberStyle
from viewer.reading.recipes.recipe import TextRules
from viewer.reading.tables.cell_grid import CellGrid, text_grid
from viewer.reading.tables.file_text import decode
from viewer.reading.tables.json_tables import looks_like_json, read_json_grids
from viewer.reading.tables.parquet_tables import PARQUET_MARK, read_parquet_grids
from viewer.reading.tables.raw_table import RawTable
from viewer.reading.tables.table_search import find_tables
from viewer.reading.tables.text_format import TextFormat, find_text_format
from viewer.reading.tables.workbook_tables import WORKBOOK_MARK, read_workbook_grids

_REFUSED = (
    (b"\xd0\xcf\x11\xe0", "an old Excel or other Office file; save it as .xlsx or CSV"),
    (b"%PDF", "a PDF document; export the points as CSV"),
    (b"SQLite format 3", "a database; open it as a site file instead"),
    (b"\x1f\x8b", "a compressed file; unpack it first"),
    (b"\x89PNG", "a picture; export the points as CSV"),
    (b"\xff\xd8\xff", "a picture; export the points as CSV"),
)


@dataclass(frozen=True)
class FileTables:
    """The tables, the text rules that were used or found, reasons and remarks in words."""

    tables: tuple[RawTable, ...]
    text: TextRules
    reasons: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


def read_tables(data: bytes, source: str, rules: TextRules, deadline: Deadline) -> FileTables:
    """The tables in those bytes. Raises UnreadableFileError."""
    check_size(len(data), source)
    deadline.allow_for(len(data))
    if not data.strip(b"\x00 \t\r\n"):
        raise UnreadableFileError(f"{source} is empty; export the trace again.")
    for mark, what in _REFUSED:
        if data.startswith(mark):
            raise UnreadableFileError(f"{source} is {what}.")
    if data.startswith(WORKBOOK_MARK):
        grids = read_workbook_grids(data, source, deadline)
        return FileTables(_tables(grids, deadline), TextRules())
    if data.startswith(PARQUET_MARK):
        return FileTables(_tables(read_parquet_grids(data, source), deadline), TextRules())
    decoded = decode(data, source, rules.encoding or None)
    deadline.check()
    if looks_like_json(decoded.text):
        grids = read_json_grids(decoded.text, source, deadline)
        return FileTables(_tables(grids, deadline), TextRules(), (), decoded.remarks)
    style = _format(decoded.text, source, rules)
    text, remarks = decoded.text, decoded.remarks
    if cut := cut_line(text, style.mark, style.style.decimal):
        text, remarks = text[: -len(cut)], (*remarks, cut_words(cut))
    grid = text_grid(text, style.mark, style.style, deadline)
    used = TextRules(
        rules.encoding or ("" if decoded.encoding.startswith("utf") else decoded.encoding),
        style.delimiter,
        style.style.decimal,
        style.style.thousands,
    )
    return FileTables(_tables([grid], deadline), used, decoded.reasons + style.reasons, remarks)


def _format(text: str, source: str, rules: TextRules) -> TextFormat:
    """What the rules say; what they leave out is found."""
    if rules.delimiter and rules.decimal:
        return TextFormat(rules.delimiter, NumberStyle(rules.decimal, rules.thousands or ""))
    found = find_text_format(text, source)
    style = NumberStyle(
        rules.decimal or found.style.decimal,
        found.style.thousands if rules.thousands is None else rules.thousands,
    )
    return TextFormat(rules.delimiter or found.delimiter, style, found.reasons)


def _tables(grids: Sequence[CellGrid], deadline: Deadline) -> tuple[RawTable, ...]:
    return tuple(table for grid in grids for table in find_tables(grid, deadline))
