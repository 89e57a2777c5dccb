"""A table found in a file: named columns of cells, and the key lines that stand around it."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from viewer.reading.notation.limits import UnreadableFileError
from viewer.reading.notation.number_style import POINT, NumberStyle
from viewer.reading.tables.cell_grid import Row


@dataclass(frozen=True)
class KeyLine:
    """One "key: value" as it stands in the file."""

    key: str
    text: str
    line: int


@dataclass(frozen=True, eq=False)
class RawTable:
    """Cells as text; `names`, `units` and `groups` have one entry for each column, "" if none.

    groups: the heading above the headings, carried to the right, as in wide tables.
    """

    names: tuple[str, ...]
    units: tuple[str, ...]
    groups: tuple[str, ...]
    rows: list[Row]
    keys: tuple[KeyLine, ...] = ()
    title: str = ""
    header_line: int | None = None
    style: NumberStyle = POINT
    place: str = ""
    row_word: str = "line"
    remarks: tuple[str, ...] = ()
    _numbers: dict[int, NDArray[np.float64]] = field(default_factory=dict, repr=False)

    @property
    def width(self) -> int:
        return len(self.names)

    @property
    def first_line(self) -> int:
        return self.rows[0].line

    def where(self, line: int | None = None) -> str:
        """ "sheet 'x', row 7" or "line 7", for sentences."""
        spot = f"{self.row_word} {self.first_line if line is None else line}"
        return f"sheet '{self.place}', {spot}" if self.place else spot

    def column_title(self, index: int) -> str:
        """How sentences call a column."""
        name = self.names[index]
        return f"column {index + 1} '{name[:40]}'" if name else f"column {index + 1}"

    def headings(self) -> str:
        """The first headings in one text, for sentences; "" if there are none."""
        return ", ".join(f"'{name[:30]}'" for name in self.names if name)[:200]

    def texts(self, index: int) -> list[str]:
        """The cells of a column as they stand, "" where a row is shorter."""
        return [row.cells[index] if index < len(row.cells) else "" for row in self.rows]

    def numbers(self, index: int, source: str) -> NDArray[np.float64]:
        """The column as numbers, NaN for gaps.

        Raises UnreadableFileError naming the line of a cell that is other text.
        """
        if index not in self._numbers:
            self._numbers[index] = _numbers(
                self.texts(index), self.style, lambda at: self._text_problem(source, index, at)
            )
        return self._numbers[index]

    def share_of_numbers(self, index: int, sample: int = 200) -> float:
        """Which part of the column's cells are numbers, from an even sample of rows."""
        step = max(1, len(self.rows) // sample)
        cells = self.texts(index)[::step]
        count = 0
        for cell in cells:
            value = self.style.number(cell)
            count += value is not None and value == value
        return count / len(cells)

    def _text_problem(self, source: str, index: int, at: int) -> str:
        row = self.rows[at]
        cell = row.cells[index] if index < len(row.cells) else ""
        return (
            f"{source}, {self.where(row.line)}: {self.column_title(index)} holds "
            f"'{cell[:40]}', not a number; correct or delete that {self.row_word}."
        )


def _numbers(
    cells: list[str], style: NumberStyle, problem: Callable[[int], str]
) -> NDArray[np.float64]:
    quick = style.column(cells)
    if quick is not None:
        return quick
    values = np.empty(len(cells))
    for at, cell in enumerate(cells):
        value = style.number(cell)
        if value is None:
            raise UnreadableFileError(problem(at))
        values[at] = value
    return values
