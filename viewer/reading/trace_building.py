"""Tables and a recipe to traces."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from viewer.physics.nomenclature import counted
from viewer.reading.notation.limits import Deadline, UnreadableFileError
from viewer.reading.notation.sweep_shape import pair_shape
from viewer.reading.notation.units import converter
from viewer.reading.plain.plain_format import check_sweep
from viewer.reading.recipes.field_values import FieldValues, field_values
from viewer.reading.recipes.recipe import ColumnRef, CurveColumns, Recipe
from viewer.reading.tables.raw_table import KeyLine, RawTable
from viewer.site_data.iv_trace import Trace, Unreadable


@dataclass(frozen=True)
class _Piece:
    """The rows of a table and the two columns that make one trace."""

    table: RawTable
    curve: CurveColumns
    voltage: int
    current: int
    rows: NDArray[np.intp] | None
    label: str


def build_traces(
    tables: Sequence[RawTable], recipe: Recipe, source: str, sha256: str, deadline: Deadline
) -> list[Trace | Unreadable]:
    """One trace for each curve, table and group.

    Raises UnreadableFileError if no table has the recipe's columns.
    """
    pieces = list(_pieces(tables, recipe, source))
    if not pieces:
        raise UnreadableFileError(_no_columns(tables, recipe, source))
    alone = len(pieces) == 1
    shared = tables[0].keys if tables else ()
    built: list[Trace | Unreadable] = []
    for piece in pieces:
        deadline.check()
        try:
            built.append(_trace(piece, recipe, source, sha256, shared, alone))
        except UnreadableFileError as error:
            built.append(Unreadable(source, str(error)))
    return built if alone else _named(built, pieces)


def _pieces(tables: Sequence[RawTable], recipe: Recipe, source: str) -> Iterator[_Piece]:
    for table in tables:
        if recipe.sheet and table.place != recipe.sheet:
            continue
        for curve in recipe.curves:
            voltage, current = find_column(table, curve.voltage), find_column(table, curve.current)
            if voltage is None or current is None:
                continue
            if len(tables) > 1 and not _is_curve(table, curve, voltage, current, source):
                continue
            for rows, label in _groups(table, recipe.group_by):
                named = " ".join(filter(None, (curve.label, label))) or table.title
                yield _Piece(table, curve, voltage, current, rows, named)


def find_column(table: RawTable, ref: ColumnRef) -> int | None:
    """The index of the column that a recipe means, None if the table has none such."""
    if not ref.name:
        return ref.number - 1 if ref.number <= table.width else None
    folded = ref.name.casefold()
    at = ref.number - 1
    if 0 <= at < table.width and table.names[at].casefold() == folded:
        return at
    return next((at for at, one in enumerate(table.names) if one.casefold() == folded), None)


def _is_curve(
    table: RawTable, curve: CurveColumns, voltage: int, current: int, source: str
) -> bool:
    """Beside other tables, columns known by number alone must also look like a sweep."""
    if curve.voltage.name and curve.current.name:
        return True
    try:
        return pair_shape(table.numbers(voltage, source), table.numbers(current, source)).fits > 0
    except UnreadableFileError:
        return False


def _groups(table: RawTable, names: Sequence[str]) -> Iterator[tuple[NDArray[np.intp] | None, str]]:
    wanted = [name.casefold() for name in names]
    columns = [at for at, name in enumerate(table.names) if name.casefold() in wanted]
    if not columns:
        yield None, ""
        return
    rows_of: dict[tuple[str, ...], list[int]] = {}
    for row, values in enumerate(zip(*(table.texts(at) for at in columns), strict=True)):
        rows_of.setdefault(values, []).append(row)
    for values, rows in rows_of.items():
        yield np.array(rows, dtype=np.intp), " ".join(filter(None, values))


def _named(
    built: Sequence[Trace | Unreadable], pieces: Sequence[_Piece]
) -> list[Trace | Unreadable]:
    """Each with a source of its own: the file and what tells its traces apart."""
    count: dict[str, int] = {}
    found: list[Trace | Unreadable] = []
    for number, (one, piece) in enumerate(zip(built, pieces, strict=True), start=1):
        string = one.string if isinstance(one, Trace) else None
        name = f"{one.source}#{piece.label or string or piece.table.place or number}"
        count[name] = count.get(name, 0) + 1
        found.append(replace(one, source=name if count[name] == 1 else f"{name} ({count[name]})"))
    return found


def _trace(
    piece: _Piece,
    recipe: Recipe,
    source: str,
    sha256: str,
    shared: Sequence[KeyLine],
    alone: bool,
) -> Trace:
    table = piece.table
    voltage = _values(piece, piece.voltage, piece.curve.voltage, "voltage", source)
    current = _values(piece, piece.current, piece.curve.current, "current", source)
    voltage, current, remarks = _without_gaps(piece, voltage, current)
    name = source if alone else f"{source}, the table from {table.where()} on,"
    check_sweep(voltage, current, name)
    found = field_values(recipe, table, piece.rows, table.keys or shared, source)
    if not table.keys and shared and table.first_line > shared[0].line and not alone:
        found.remarks.append("Conditions are those given once for the whole file.")
    return Trace(
        source=source,
        voltage=voltage,
        current=current,
        combiner=found.texts.get("combiner"),
        string=_string(found, piece, recipe, alone),
        measured_at=found.measured_at,
        conditions=found.measured_conditions(),
        serial=found.texts.get("serial"),
        note=found.texts.get("note"),
        sha256=sha256,
        remarks=(*table.remarks, *remarks, *found.remarks),
    )


def _string(found: FieldValues, piece: _Piece, recipe: Recipe, alone: bool) -> str | None:
    """The string's name: the field's, else what tells this trace from the file's others."""
    if "string" in found.texts:
        return found.texts["string"]
    return None if alone else piece.label or None


def _values(piece: _Piece, at: int, ref: ColumnRef, kind: str, source: str) -> NDArray[np.float64]:
    column = piece.table.numbers(at, source)
    values = column if piece.rows is None else column[piece.rows]
    unit = ref.unit or piece.table.units[at]
    convert = converter(unit, kind) if unit else None
    if unit and convert is None and ref.unit:
        raise UnreadableFileError(
            f"{source}: the recipe gives the {kind} the unit '{unit[:40]}', "
            f"which is none of {kind}."
        )
    factor = convert(1.0) if convert is not None else 1.0
    if factor < 1.0:  # 6697 mA are 6.697 A: dividing by 1000 rounds right, times 0.001 does not
        values = values / round(1.0 / factor)
    elif factor > 1.0:
        values = values * factor
    return -values if ref.sign < 0 else values


def _without_gaps(
    piece: _Piece, voltage: NDArray[np.float64], current: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], tuple[str, ...]]:
    good = np.isfinite(voltage) & np.isfinite(current)
    if good.all():
        return voltage.copy(), current.copy(), ()
    missing = np.isfinite(voltage) != np.isfinite(current)
    remarks: tuple[str, ...] = ()
    if missing.any():
        first = int(np.argmax(missing))
        row = piece.table.rows[first if piece.rows is None else int(piece.rows[first])]
        count = int(missing.sum())
        remarks = (
            f"Left out: {counted(count, 'point')} without a number, "
            f"first in {piece.table.where(row.line)}.",
        )
    return voltage[good], current[good], remarks


def _no_columns(tables: Sequence[RawTable], recipe: Recipe, source: str) -> str:
    if not tables:
        return f"{source} has no table of numbers; export the points of the sweep."
    if not recipe.curves:
        return f"{source}: the recipe names no curve; add [[curve]] with voltage and current."
    table = max(tables, key=lambda one: len(one.rows))
    first = recipe.curves[0]
    missing = [ref for ref in (first.voltage, first.current) if find_column(table, ref) is None]
    names = table.headings() or "no headings"
    if recipe.sheet and all(one.place != recipe.sheet for one in tables):
        return (
            f"{source}: there is no sheet '{recipe.sheet[:40]}' with a table; correct the recipe."
        )
    what = f"column {missing[0]}" if missing else "curve"
    return (
        f"{source}, {table.where(table.header_line)}: there is no {what} as the recipe "
        f"{recipe.name[:40] or 'says'}; the table has {names}. Correct the recipe or the file."
    )
