"""The plain trace format: `# key: value` lines, a `voltage,current` header, the points.

Two ways through: a fast one for files that are exactly so, and a careful one that skips what
may be skipped (with a remark) and names file and line of what may not.
"""

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from viewer.reading.notation.cut_line import cut_line, cut_words
from viewer.reading.notation.limits import UnreadableFileError
from viewer.reading.notation.sweep_shape import mostly_negative
from viewer.reading.notation.units import unit_of

LEAST_POINTS = 5
"""Fewer points cannot show a sweep's two axis crossings and its knee (a choice of ours)."""

HIGHEST = 1e5
"""V or A beyond which a reading is an error (a choice of ours)."""


@dataclass(frozen=True, eq=False)
class PlainFile:
    """What stands in a file of the plain format, before any meaning is given to the keys."""

    voltage: NDArray[np.float64]
    current: NDArray[np.float64]
    keys: dict[str, tuple[str, int]] = field(default_factory=dict)
    """Key in small letters to its text and line."""
    remarks: tuple[str, ...] = ()


def read_plain(text: str, name: str) -> PlainFile | None:
    """The file's points and keys, or None if its heading is not that of the plain format.

    text: the decoded file. name: how sentences call it. Raises UnreadableFileError.
    """
    keys: dict[str, tuple[str, int]] = {}
    start, number = 0, 0
    while True:
        end = text.find("\n", start)
        line = text[start : end if end >= 0 else len(text)]
        number += 1
        if line[:1] == "#":
            key, colon, value = line[1:].partition(":")
            if colon:
                keys.setdefault(key.strip().lower(), (value.strip(), number))
        elif line and not line.isspace():
            break
        if end < 0:
            raise UnreadableFileError(_no_table(text, name, number))
        start = end + 1
    names = _column_names(line)
    if sorted(names) != ["current", "voltage"]:
        return None
    body = text[end + 1 :] if end >= 0 else ""
    points = _points(names, body, name, number)
    return PlainFile(points[0], points[1], keys, points[2]) if points is not None else None


def _no_table(text: str, name: str, line: int) -> str:
    if not text.strip():
        return f"{name} is empty; export the trace again."
    return f"{name}, line {line}: the file ends before the line 'voltage,current'; export it again."


def _column_names(header: str) -> list[str]:
    return [cell.strip().strip('"').lower() for cell in header.split(",")]


def _points(
    names: list[str], body: str, name: str, header_line: int
) -> tuple[NDArray[np.float64], NDArray[np.float64], tuple[str, ...]] | None:
    columns = names.index("voltage"), names.index("current")
    remarks: tuple[str, ...] = ()
    if cut := cut_line(body):
        body = body[: -len(cut)]
        remarks = (cut_words(cut),)
    values = _fast(body, len(names))
    if values is None:
        if _has_units_first(body):
            return None
        values, more = _careful(body, names, columns, name, header_line)
        remarks += more
    voltage, current = values[:, columns[0]], values[:, columns[1]]
    check_sweep(voltage, current, name)
    if mostly_negative(current):
        current = -current
        remarks += ("The current is mostly negative; its sign was turned.",)
    return np.ascontiguousarray(voltage), np.ascontiguousarray(current), remarks


def _has_units_first(body: str) -> bool:
    """Whether the row under the heading holds units instead of numbers."""
    cells = body.split("\n", 1)[0].split(",")
    return all(unit_of(cell.strip(" []()")) is not None for cell in cells)


def check_sweep(voltage: NDArray[np.float64], current: NDArray[np.float64], name: str) -> None:
    """Raises UnreadableFileError for too few points, a voltage that does not move, or values
    that no string has.
    """
    if voltage.size < LEAST_POINTS:
        points = {0: "no points", 1: "one point"}.get(voltage.size, f"only {voltage.size} points")
        raise UnreadableFileError(
            f"{name} holds {points}, a sweep needs at least {LEAST_POINTS}; "
            "export the whole sweep again."
        )
    for column, unit in ((voltage, "V"), (current, "A")):
        top = float(max(column.max(), -column.min()))
        if top > HIGHEST:
            raise UnreadableFileError(
                f"{name} reaches {top:.3g} {unit}, which no string has; "
                "check which column is which and its unit."
            )
    if np.ptp(voltage) == 0:
        raise UnreadableFileError(
            f"{name} has the same voltage, {voltage[0]:g} V, at every point: not a sweep; "
            "check which column holds the voltage."
        )


def _fast(body: str, columns: int) -> NDArray[np.float64] | None:
    """The body as an array (points, columns), or None if it is not plain numbers throughout."""
    if "_" in body or "#" in body:  # float() would take 1_000 for a number
        return None
    lines = body.strip().split("\n")
    if lines == [""]:
        return None
    try:
        values = np.loadtxt(lines, delimiter=",", comments=None, ndmin=2)
    except ValueError:
        return None
    if values.shape != (len(lines), columns) or not np.isfinite(values).all():
        return None
    return values


def _careful(
    body: str, names: list[str], columns: tuple[int, int], name: str, header_line: int
) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    """Line by line: gaps are skipped with a remark, text in numbers is an error."""
    rows: list[list[float]] = []
    gaps: list[int] = []
    ending: tuple[int, str] | None = None
    for number, line in enumerate(body.split("\n"), start=header_line + 1):
        line = line.strip().strip("\x00")
        if not line or line.startswith("#"):
            continue
        cells = [cell.strip().strip('"') for cell in line.split(",")]
        found = [_number(cells[c]) if c < len(cells) else None for c in columns]
        if all(value is None for value in found):
            ending = ending or (number, line)
            continue
        if ending is not None:
            raise UnreadableFileError(
                f"{name}, line {ending[0]}: '{ending[1][:40]}' stands among the points; "
                "delete that line or put # before it."
            )
        for value, column in zip(found, columns, strict=True):
            if value is None:
                raise UnreadableFileError(_text_in_numbers(name, number, names, column, cells))
        if all(math.isfinite(value) for value in found if value is not None):
            row = [math.nan] * len(names)
            for value, column in zip(found, columns, strict=True):
                row[column] = value if value is not None else math.nan
            rows.append(row)
        else:
            gaps.append(number)
    return np.array(rows, dtype=float).reshape(-1, len(names)), _remarks(gaps, ending)


def _text_in_numbers(
    name: str, number: int, names: list[str], column: int, cells: list[str]
) -> str:
    if column >= len(cells):
        return (
            f"{name}, line {number}: the {names[column]} is missing; complete or delete that line."
        )
    return (
        f"{name}, line {number}: the {names[column]} is '{cells[column][:40]}', not a number; "
        "correct or delete that line."
    )


def _remarks(gaps: list[int], ending: tuple[int, str] | None) -> tuple[str, ...]:
    remarks = []
    if gaps:
        lines = "line" if len(gaps) == 1 else f"{len(gaps)} lines, first line"
        remarks.append(f"Points without a number were left out: {lines} {gaps[0]}.")
    if ending is not None:
        remarks.append(f"Text after the points was left out, from line {ending[0]}.")
    return tuple(remarks)


def _number(cell: str) -> float | None:
    """The cell's number, NaN for an empty cell, None for text."""
    if not cell:
        return math.nan
    if "_" in cell:
        return None
    try:
        return float(cell)
    except ValueError:
        return None
