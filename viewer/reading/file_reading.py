"""One file of any layout to its traces, with what was understood and why."""

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path

from viewer.reading.file_tables import read_tables
from viewer.reading.notation.limits import Deadline, NoSweepError, UnreadableFileError
from viewer.reading.plain.plain_format import read_plain
from viewer.reading.plain.trace_keys import TIME_FROM_NAME, read_keys, time_in_name
from viewer.reading.recipes.recipe import Recipe
from viewer.reading.recipes.recipe_guess import guess_recipe
from viewer.reading.tables.file_text import decode_plain, read_bytes
from viewer.reading.tables.raw_table import RawTable
from viewer.reading.trace_building import build_traces
from viewer.site_data.iv_trace import Trace, Unreadable


@dataclass(frozen=True)
class FileReading:
    """What came out of one file.

    recipe: the one given, completed by what was found, or the one guessed; None on failure.
    reasons: why the guess is as it is. doubts: what a person should look at.
    tables: for a preview; empty on failure.
    """

    source: str
    traces: tuple[Trace, ...] = ()
    failures: tuple[Unreadable, ...] = ()
    recipe: Recipe | None = None
    reasons: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    tables: tuple[RawTable, ...] = ()
    sha256: str | None = None
    no_sweep: bool = False
    """Nothing in it looks like a sweep; `failures` says so."""


def read_file(
    path: Path, source: str, recipe: Recipe | None = None, plain_first: bool = False
) -> FileReading:
    """The traces in that file; `source` is how it is named. Never raises for what it holds.

    plain_first: a file in the plain format is read as that, whatever the recipe says.
    """
    try:
        data = read_bytes(path, source)
    except UnreadableFileError as error:
        return FileReading(source, failures=(Unreadable(source, str(error)),))
    return read_data(data, source, recipe, plain_first)


def read_data(
    data: bytes, source: str, recipe: Recipe | None = None, plain_first: bool = False
) -> FileReading:
    """The same from the file's bytes."""
    sha256 = hashlib.sha256(data).hexdigest()
    try:
        if plain_first or recipe is None or not recipe.curves:
            plain = _plain_trace(data, source, sha256)
            if plain is not None:
                return FileReading(source, traces=(plain,), sha256=sha256)
        return _understood(data, source, recipe or Recipe(), sha256)
    except UnreadableFileError as error:
        failures = (Unreadable(source, str(error)),)
        no_sweep = isinstance(error, NoSweepError)
        return FileReading(source, failures=failures, sha256=sha256, no_sweep=no_sweep)


def _plain_trace(data: bytes, source: str, sha256: str) -> Trace | None:
    """The trace of a file in the plain format, None for any other file."""
    text = decode_plain(data)
    plain = read_plain(text, source) if text is not None else None
    if plain is None:
        return None
    keys = read_keys(plain.keys)
    remarks = plain.remarks + keys.remarks
    measured_at = keys.measured_at
    if measured_at is None and (measured_at := time_in_name(source.rpartition("/")[2])):
        remarks += (TIME_FROM_NAME,)
    return Trace(
        source=source,
        voltage=plain.voltage,
        current=plain.current,
        combiner=keys.combiner,
        string=keys.string,
        measured_at=measured_at,
        conditions=keys.conditions,
        module=keys.module,
        serial=keys.serial,
        note=keys.note,
        sha256=sha256,
        remarks=remarks,
    )


def _understood(data: bytes, source: str, given: Recipe, sha256: str) -> FileReading:
    deadline = Deadline(source)
    found = read_tables(data, source, given.text, deadline)
    used, reasons, doubts = given, found.reasons, found.remarks
    if not given.curves:
        guess = guess_recipe(found.tables, found.text, source)
        used = replace(
            given,
            text=guess.recipe.text,
            curves=guess.recipe.curves,
            group_by=given.group_by or guess.recipe.group_by,
            fields={**guess.recipe.fields, **given.fields},
        )
        reasons += guess.reasons
        doubts += guess.doubts
    built = build_traces(found.tables, used, source, sha256, deadline)
    traces = [one for one in built if isinstance(one, Trace)]
    doubts += _continuation_doubts(traces, found.tables)
    return FileReading(
        source,
        traces=tuple(_finished(trace, source, doubts) for trace in traces),
        failures=tuple(one for one in built if isinstance(one, Unreadable)),
        recipe=used,
        reasons=reasons,
        doubts=doubts,
        tables=found.tables,
        sha256=sha256,
    )


def _finished(trace: Trace, source: str, doubts: tuple[str, ...]) -> Trace:
    """With the time in the file's name if the file gives none, and the doubts as remarks."""
    remarks = trace.remarks + doubts
    measured_at = trace.measured_at
    if measured_at is None and (measured_at := time_in_name(source.rpartition("/")[2])):
        remarks += (TIME_FROM_NAME,)
    return replace(trace, measured_at=measured_at, remarks=remarks)


def _continuation_doubts(traces: list[Trace], tables: tuple[RawTable, ...]) -> tuple[str, ...]:
    """Tables one below the other whose voltages hardly overlap may be one sweep cut in two."""
    if len(traces) < 2 or len(tables) != len(traces):
        return ()
    for one, two, table in zip(traces, traces[1:], tables[1:], strict=False):
        low = max(one.voltage.min(), two.voltage.min())
        high = min(one.voltage.max(), two.voltage.max())
        shorter = min(one.voltage.max() - one.voltage.min(), two.voltage.max() - two.voltage.min())
        if high - low < 0.2 * shorter:
            return (
                f"The points from {table.where()} on may go on the sweep above; "
                "if so, delete the text between them.",
            )
    return ()
