"""Rows of text cells, each with its line number: what every kind of file is reduced to."""

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from viewer.reading.notation.limits import COLUMN_LIMIT, Deadline, UnreadableFileError, check_rows
from viewer.reading.notation.number_style import POINT, NumberStyle
from viewer.site_data.cell_text import original_text

DELIMITERS = {"tab": "\t", ";": ";", "|": "|", ",": ",", "spaces": " "}
"""Name in recipes and sentences to the mark itself."""


class Row(NamedTuple):
    """One line: its number from 1, its text as it stands, and the cells, stripped."""

    line: int
    text: str
    cells: list[str]


@dataclass(frozen=True)
class CellGrid:
    """A text file or a sheet; `place` names the sheet, "" for a text file."""

    rows: list[Row]
    style: NumberStyle = POINT
    place: str = ""
    row_word: str = "line"
    """What a row is called in sentences: line of a text, row of a sheet."""


def split_cells(line: str, delimiter: str) -> list[str]:
    """The cells of one line; `delimiter` is a value of DELIMITERS."""
    if delimiter == " ":
        return line.split()
    if '"' in line:
        try:
            cells = next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))
        except (csv.Error, StopIteration):
            cells = line.split(delimiter)
    else:
        cells = line.split(delimiter)
    return [cell.strip() for cell in cells]


def text_grid(text: str, delimiter: str, style: NumberStyle, deadline: Deadline) -> CellGrid:
    """The text cut into rows and cells. Raises UnreadableFileError beyond the limits."""
    lines = text.split("\n")
    check_rows(len(lines), deadline.source)
    rows = []
    quoted = '"' in text
    for number, line in enumerate(lines, start=1):
        if number % 2048 == 0:
            deadline.check()
        if quoted or delimiter == " " or " " in line:
            cells = split_cells(line, delimiter)
        else:
            cells = line.split(delimiter)
        if "'" in line:
            cells = [original_text(cell) for cell in cells]
        if len(cells) > COLUMN_LIMIT + 1:  # one more for a delimiter at the line's end
            raise UnreadableFileError(
                f"{deadline.source}, line {number}: more than {COLUMN_LIMIT:,} columns; "
                "split the table into smaller files."
            )
        rows.append(Row(number, line, cells))
    return CellGrid(rows, style)


def value_grid(
    rows: Iterable[tuple[int, list[str]]], place: str = "", row_word: str = "row"
) -> CellGrid:
    """From rows of cells that were never text, such as a sheet's."""
    return CellGrid(
        [Row(line, " ".join(filter(None, cells)), cells) for line, cells in rows],
        POINT,
        place,
        row_word,
    )
