"""JSON to grids of cells: lists of objects, objects of lists, and objects of those."""

import json
from collections.abc import Iterator, Mapping

from viewer.reading.notation.limits import (
    COLUMN_LIMIT,
    Deadline,
    NoSweepError,
    UnreadableFileError,
    check_rows,
)
from viewer.reading.tables.cell_grid import CellGrid, value_grid
from viewer.site_data.results_mark import RESULT_KEYS, SENTENCE

_DEEPEST = 6


def looks_like_json(text: str) -> bool:
    return text.lstrip()[:1] in ("{", "[") and not text.lstrip().startswith("[[curve")


def read_json_grids(text: str, source: str, deadline: Deadline) -> list[CellGrid]:
    """One grid for each table in the document; scalars beside a table become its key lines.

    A text of one JSON object a line (JSON Lines) is read too. Raises UnreadableFileError.
    """
    data = _parsed(text, source)
    first = data[0] if isinstance(data, list) and data else data
    if isinstance(first, dict) and first.keys() >= RESULT_KEYS:
        raise NoSweepError(f"{source} {SENTENCE}")
    grids = [value_grid(rows, place) for place, rows in _tables(data, "", {}, source, deadline)]
    if not grids:
        raise NoSweepError(
            f"{source} holds no lists of numbers for voltage and current; export the points."
        )
    return grids


def _parsed(text: str, source: str) -> object:
    try:
        return json.loads(text)
    except RecursionError as error:
        raise UnreadableFileError(f"{source} nests its JSON too deeply to be read.") from error
    except ValueError as error:
        lines = [line for line in text.split("\n") if line.strip()]
        if len(lines) > 1:
            try:
                return [json.loads(line) for line in lines]
            except (ValueError, RecursionError):
                pass
        line = getattr(error, "lineno", 1)
        raise UnreadableFileError(
            f"{source}, line {line}: not valid JSON, {getattr(error, 'msg', error)}; mend it."
        ) from error


def _tables(
    data: object,
    place: str,
    keys: Mapping[str, object],
    source: str,
    deadline: Deadline,
    depth: int = 0,
) -> Iterator[tuple[str, list[tuple[int, list[str]]]]]:
    """Place and numbered rows of each table; `keys` are the scalars around it."""
    deadline.check()
    if depth > _DEEPEST:
        return
    if isinstance(data, dict):
        scalars = {**keys, **{k: v for k, v in data.items() if not isinstance(v, dict | list)}}
        columns = {k: v for k, v in data.items() if _is_column(v)}
        if len(columns) >= 2:
            yield place, _numbered(scalars, columns, source)
        for name, value in data.items():
            if name not in columns and isinstance(value, dict | list):
                inner = f"{place}.{name}" if place else str(name)
                if isinstance(value, dict) and not _holds_lists(value):
                    scalars = {**scalars, **value}
                    continue
                yield from _tables(value, inner, scalars, source, deadline, depth + 1)
    elif isinstance(data, list) and data:
        if all(isinstance(one, dict) for one in data):
            yield from _records(data, place, keys, source, deadline, depth)
        elif all(isinstance(one, list) for one in data) and not _holds_lists(data[0]):
            check_rows(len(data), source)
            yield place, _with_keys(keys, [[_cell(cell) for cell in row] for row in data])


def _records(
    data: list[dict[str, object]],
    place: str,
    keys: Mapping[str, object],
    source: str,
    deadline: Deadline,
    depth: int,
) -> Iterator[tuple[str, list[tuple[int, list[str]]]]]:
    """A list of objects: rows of one table, or one table in each of them."""
    if any(_holds_lists(one) for one in data):
        for number, one in enumerate(data, start=1):
            inner = f"{place}[{number}]"
            yield from _tables(one, inner, keys, source, deadline, depth + 1)
        return
    check_rows(len(data), source)
    names = list(dict.fromkeys(name for one in data for name in one))[:COLUMN_LIMIT]
    rows = [[str(name) for name in names]]
    rows += [[_cell(one.get(name)) for name in names] for one in data]
    yield place, _with_keys(keys, rows)


def _is_column(value: object) -> bool:
    return (
        isinstance(value, list)
        and len(value) >= 1
        and not any(isinstance(one, dict | list) for one in value)
    )


def _holds_lists(value: object) -> bool:
    values = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return any(isinstance(one, dict | list) for one in values)


def _numbered(
    keys: Mapping[str, object], columns: Mapping[str, list[object]], source: str
) -> list[tuple[int, list[str]]]:
    longest = max(len(column) for column in columns.values())
    check_rows(longest, source)
    rows = [[str(name) for name in columns]]
    for at in range(longest):
        rows.append([_cell(col[at]) if at < len(col) else "" for col in columns.values()])
    return _with_keys(keys, rows)


def _with_keys(keys: Mapping[str, object], rows: list[list[str]]) -> list[tuple[int, list[str]]]:
    above = [[f"{key}: {_cell(value)}"] for key, value in keys.items() if value is not None]
    return list(enumerate(above + rows, start=1))


def _cell(value: object) -> str:
    if value is None:
        return ""
    return repr(value) if isinstance(value, float) else str(value)
