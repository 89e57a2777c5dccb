"""Finds the tables in a grid of cells: runs of rows that hold numbers, and their headings."""

import re
from dataclasses import dataclass, replace

from viewer.reading.notation.clock_text import looks_like_time
from viewer.reading.notation.limits import Deadline
from viewer.reading.notation.number_style import NumberStyle
from viewer.reading.notation.units import split_unit, unit_of
from viewer.reading.plain.plain_format import LEAST_POINTS
from viewer.reading.tables.cell_grid import CellGrid, Row
from viewer.reading.tables.key_lines import COMMENT_MARKS, key_lines
from viewer.reading.tables.raw_table import RawTable

_NAME_LETTERS = frozenset("IUPTtviup")
_OTHER_UNITS = ("%", "Ω", "ohm")


def find_tables(grid: CellGrid, deadline: Deadline) -> tuple[RawTable, ...]:
    """All tables of the grid in their order; none if no row holds two numbers."""
    runs = _merged(_runs(grid, deadline), grid.style)
    after = runs[-1].end if runs else 0
    trailing = grid.rows[after:]
    tables: list[RawTable] = []
    for at, run in enumerate(runs):
        last = at == len(runs) - 1
        table = _table(run, grid, trailing if last else [])
        tables.append(_with_names_of(tables[-1], table) if tables else table)
        deadline.check()
    return tuple(tables)


def _with_names_of(before: RawTable, table: RawTable) -> RawTable:
    """Tables below each other often share the heading of the first."""
    if any(table.names) or before.width != table.width:
        return table
    return replace(table, names=before.names, units=before.units, groups=before.groups)


@dataclass
class _Run:
    """Rows `begin` to `end` of a grid hold numbers; `above` are the rows since the run before."""

    above: list[Row]
    rows: list[Row]
    end: int
    remarks: tuple[str, ...] = ()


def _runs(grid: CellGrid, deadline: Deadline) -> list[_Run]:
    runs: list[_Run] = []
    above: list[Row] = []
    current: list[Row] = []
    for at, row in enumerate(grid.rows):
        if at % 2048 == 0:
            deadline.check()
        kind = _kind(row, grid.style)
        if kind == "data" or (kind == "gap" and current):
            current.append(row)
            continue
        if current:
            runs.append(_Run(above, current, at))
            above, current = [], []
        above.append(row)
    if current:
        runs.append(_Run(above, current, len(grid.rows)))
    return runs


def _kind(row: Row, style: NumberStyle) -> str:
    """data: two numbers or more, or a time and a number; gap: one number and nothing but gaps;
    text: anything else.
    """
    numbers = texts = times = 0
    number = style.number
    for cell in row.cells:
        value = number(cell)
        if value is None:
            texts += 1
            times += looks_like_time(cell)
        elif value == value:
            numbers += 1
            if numbers == 2:
                return "data"
    if numbers and times:
        return "data"
    return "gap" if numbers == 1 and not texts else "text"


def _merged(runs: list[_Run], style: NumberStyle) -> list[_Run]:
    """Joins runs that only blank lines or one broken row part, and drops short ones beside long.

    Rows of a dropped run go to the rows above the next one, where key lines are looked for.
    """
    joined: list[_Run] = []
    for run in runs:
        before = joined[-1] if joined else None
        if before is not None and _belongs(before, run, style):
            before.rows += [row for row in run.above if row.text.strip()] + run.rows
            before.end = run.end
        else:
            joined.append(run)
    if not any(len(run.rows) >= LEAST_POINTS for run in joined):
        return joined
    kept: list[_Run] = []
    carried: list[Row] = []
    for run in joined:
        if len(run.rows) < LEAST_POINTS:
            carried += run.above + run.rows
            continue
        kept.append(_Run(carried + run.above, run.rows, run.end))
        carried = []
    return kept


def _belongs(before: _Run, run: _Run, style: NumberStyle) -> bool:
    between = [row for row in run.above if row.text.strip()]
    if not between:
        return len(before.rows) < LEAST_POINTS or len(run.rows) < LEAST_POINTS
    return len(between) == 1 and _is_broken(between[0], run.rows[0], style)


def _is_broken(row: Row, beside: Row, style: NumberStyle) -> bool:
    """Whether a row among the points is one of them with text where a number should be."""
    if len(row.cells) != len(beside.cells) or row.cells[0][:1].isalpha():
        return False
    return any(style.number(cell) is not None for cell in row.cells)


def _table(run: _Run, grid: CellGrid, trailing: list[Row]) -> RawTable:
    width = max(_filled_width(row) for row in run.rows)
    heading = _heading(run, grid, width)
    found, titles = key_lines(heading.others, grid.style)
    below, rest = key_lines(trailing, grid.style)
    remarks = run.remarks
    if rest:
        remarks += (f"Text after the points was left out: '{rest[0][:40]}'.",)
    return RawTable(
        names=heading.names,
        units=heading.units,
        groups=heading.groups,
        rows=run.rows,
        keys=tuple(found + below),
        title=titles[-1] if titles else "",
        header_line=heading.line,
        style=grid.style,
        place=grid.place,
        row_word=grid.row_word,
        remarks=remarks,
    )


def _filled_width(row: Row) -> int:
    width = len(row.cells)
    while width and not row.cells[width - 1]:
        width -= 1
    return width


@dataclass
class _Heading:
    names: tuple[str, ...]
    units: tuple[str, ...]
    groups: tuple[str, ...]
    others: list[Row]
    """Rows above that are neither names, units nor groups."""
    line: int | None = None


def _heading(run: _Run, grid: CellGrid, width: int) -> _Heading:
    above = [row for row in run.above if row.text.strip()]
    units_row: list[str] | None = None
    if above and _is_units(cells := _header_cells(above[-1], width)):
        units_row = cells
        above = above[:-1]
    if not above or not _is_names(cells := _header_cells(above[-1], width), width, grid.style):
        units = _fitted([cell.strip("[]() ") for cell in units_row or []], width)
        return _Heading(("",) * width, units, ("",) * width, above)
    line, above = above[-1].line, above[:-1]
    cells = _shifted(cells, run, width, grid.style)
    names, units = zip(*(split_unit(cell) for cell in _fitted(cells, width)), strict=True)
    if units_row is not None:
        below = _fitted([cell.strip("[]() ") for cell in units_row], width)
        units = tuple(own or under for own, under in zip(units, below, strict=True))
    groups, others = _groups(above, width, grid.style)
    return _Heading(names, units, groups, others, line)


def _header_cells(row: Row, width: int) -> list[str]:
    """The cells of a heading; words that a space parts are put together to fit the width."""
    text = COMMENT_MARKS.sub("", row.text).strip()
    if row.text.split() != row.cells:  # spaces are not what separates the cells
        cells = list(row.cells)
        cells[0] = COMMENT_MARKS.sub("", cells[0])
        return cells
    words = text.split()
    if len(words) == width:
        return words
    wide = re.split(r"\s{2,}|\t", text)
    if len(wide) == width:
        return wide
    return _bracketed_words(text)


def _bracketed_words(text: str) -> list[str]:
    """Words, each with the bracket that follows it: "Voltage (V) Current (A)" are two."""
    return [word.strip() for word in re.findall(r"[^\s(\[]+(?:\s*[(\[][^)\]]*[)\]])?", text)]


def _is_units(cells: list[str]) -> bool:
    """Whether a row holds nothing but units; "V I" and "U I" are taken as names."""
    filled = [cell.strip("[]() ") for cell in cells if cell.strip("[]() -")]
    if len(filled) < 2 or any(cell in _NAME_LETTERS for cell in filled):
        return False
    return all(unit_of(cell) is not None or cell in _OTHER_UNITS for cell in filled)


def _is_names(cells: list[str], width: int, style: NumberStyle) -> bool:
    filled = [cell for cell in cells if cell]
    if not filled or len(cells) > width + 1 or any("=" in cell for cell in filled):
        return False
    if len(filled) == 1 and width > 1:
        return False
    if any(re.search(r":\s*\S", cell) for cell in filled):
        return False
    return all(style.number(cell) is None for cell in filled)


def _shifted(cells: list[str], run: _Run, width: int, style: NumberStyle) -> list[str]:
    """A heading that is one short stands over a table whose first column counts the rows."""
    if len(cells) != width - 1 or len(run.rows) < 3:
        return cells
    first = [style.number(row.cells[0]) for row in run.rows[:3]]
    start = first[0]
    if start in (0.0, 1.0) and first == [start, start + 1, start + 2]:
        return ["", *cells]
    return cells


def _groups(above: list[Row], width: int, style: NumberStyle) -> tuple[tuple[str, ...], list[Row]]:
    """Headings above the headings, each carried to the right up to the next."""
    none = ("",) * width
    if width < 4 or not above:
        return none, above
    row = above[-1]
    cells = list(row.cells[:width])
    filled = [cell for cell in cells if cell]
    is_key = re.search(r"[:=]", row.text) or len(row.cells) < width - 1
    if len(filled) < 2 or is_key or all(style.number(cell) is not None for cell in filled):
        return none, above
    carried: list[str] = []
    for cell in _fitted(cells, width):
        carried.append(cell or (carried[-1] if carried else ""))
    return tuple(carried), above[:-1]


def _fitted(cells: list[str], width: int) -> tuple[str, ...]:
    return tuple((cells + [""] * width)[:width])
