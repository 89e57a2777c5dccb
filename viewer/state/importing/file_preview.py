"""One file as it would be read: its tables, the recipe, the traces, and what was noticed."""

from dataclasses import dataclass, field, replace

from viewer.physics.nomenclature import CONDITIONS, counted
from viewer.reading.file_reading import FileReading, read_data
from viewer.reading.file_tables import FileTables, read_tables
from viewer.reading.notation.limits import Deadline, UnreadableFileError
from viewer.reading.recipes.recipe import Recipe, TextRules
from viewer.reading.recipes.recipe_guess import guess_recipe
from viewer.reading.tables.file_text import read_bytes
from viewer.reading.tables.raw_table import RawTable
from viewer.reading.trace_files import TraceFile
from viewer.reading.visits.names_from_path import with_path_names
from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.state.importing.recipe_words import field_place, main_table

PLAIN = "The file is in the program's plain format; no recipe is needed."


@dataclass(frozen=True, eq=False)
class FilePreview:
    """`recipe` is what was used, guessed, or as much of it as could be found."""

    file: TraceFile
    reading: FileReading
    recipe: Recipe = field(default_factory=Recipe)
    tables: tuple[RawTable, ...] = ()
    plain: bool = False

    @property
    def table(self) -> RawTable | None:
        """The table to show first."""
        return self.tables[main_table(self.tables, self.recipe)] if self.tables else None

    @property
    def problems(self) -> tuple[str, ...]:
        return tuple(one.problem for one in self.reading.failures)


def preview_file(file: TraceFile, recipe: Recipe | None) -> FilePreview:
    """Reads the file by the recipe, or by looking. Never raises for what the file holds."""
    try:
        data = read_bytes(file.path, file.source)
    except UnreadableFileError as error:
        failure = Unreadable(file.source, str(error))
        return FilePreview(file, FileReading(file.source, failures=(failure,)), recipe or Recipe())
    reading = read_data(data, file.source, recipe)
    reading = replace(reading, traces=tuple(map(with_path_names, reading.traces)))
    if reading.recipe is not None:
        return FilePreview(file, reading, reading.recipe, reading.tables)
    found = _tables(data, file.source, recipe)
    used = recipe or _guessed(found, file.source)
    return FilePreview(file, reading, used, found.tables, plain=bool(reading.traces))


def _tables(data: bytes, source: str, recipe: Recipe | None) -> FileTables:
    """The tables by the recipe's rules, or, if these give none, as they look."""
    for rules in (recipe.text if recipe else TextRules(), TextRules()):
        try:
            found = read_tables(data, source, rules, Deadline(source))
        except UnreadableFileError:
            continue
        if found.tables:
            return found
    return FileTables((), rules)


def _guessed(found: FileTables, source: str) -> Recipe:
    try:
        return guess_recipe(found.tables, found.text, source).recipe
    except UnreadableFileError:
        return Recipe(text=found.text)


def trace_words(trace: Trace) -> str:
    """One line: names, time, conditions and size of a trace."""
    parts = [f"{trace.combiner or '–'} {trace.string or '–'}", counted(trace.voltage.size, "point")]
    if trace.measured_at:
        parts.append(f"{trace.measured_at:%Y-%m-%d %H:%M:%S}")
    for one in CONDITIONS:
        value = getattr(trace.conditions, one.name)
        if value is not None:
            parts.append(f"{one.label.lower()} {one.text(value)} {one.unit}")
    return ", ".join(parts)


def field_lines(preview: FilePreview) -> list[str]:
    """Where each field comes from, a line each."""
    table = preview.table
    if table is None:
        return []
    return [field_place(name, source, table) for name, source in preview.recipe.fields.items()]
