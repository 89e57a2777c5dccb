"""A typical year's irradiance from a file: a table of hourly values, or a weather file.

A table (CSV, workbook) has a column of irradiance in the module plane. EPW and TMY3 weather
files, read by pvlib, give the sky's three components, from which the plane is computed later.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from viewer.reading.file_tables import read_tables
from viewer.reading.notation.column_words import meaning_of
from viewer.reading.notation.limits import Deadline, NoTableError, UnreadableFileError
from viewer.reading.recipes.recipe import TextRules
from viewer.reading.tables.file_text import read_bytes

Array = NDArray[np.float64]

SECONDS_LIMIT = 20.0
YEAR = 2025
HALF_HOUR = timedelta(minutes=30)
LONGEST_REASON = 160
"""Characters of what a library says that a sentence repeats."""


@dataclass(frozen=True, eq=False)
class TypicalYear:
    """Hourly values [W/m²]: `poa_global`, or the sky's components at the middle of each hour."""

    source: str
    poa_global: Array | None = None
    times: tuple[datetime, ...] = ()
    sky: tuple[Array, ...] = ()
    """ghi, dni and dhi."""


def read_typical_year(path: Path) -> TypicalYear:
    """The year in that file. Raises UnreadableFileError with one sentence."""
    if path.suffix.lower() == ".epw":
        return _weather(path, "EPW")
    if _is_tmy3(path):
        return _weather(path, "TMY3")
    return _table(path)


def _is_tmy3(path: Path) -> bool:
    """Its second line names the columns, the first of them 'Date (MM/DD/YYYY)'."""
    if path.suffix.lower() not in (".csv", ".tm3", ".tmy3"):
        return False
    lines = read_bytes(path, path.name)[:4000].splitlines()
    return len(lines) > 1 and lines[1].startswith(b"Date (MM/DD/YYYY)")


def _weather(path: Path, kind: str) -> TypicalYear:
    """EPW hours begin at the time pvlib gives, TMY3 hours end there (pvlib's documentation)."""
    import pvlib  # not above: it is slow to load, and the window starts without it

    try:
        if kind == "EPW":
            data, _ = pvlib.iotools.read_epw(str(path), coerce_year=YEAR)
            middle = data.index + HALF_HOUR
        else:
            data, _ = pvlib.iotools.read_tmy3(str(path), coerce_year=YEAR, map_variables=True)
            middle = data.index - HALF_HOUR
        sky = tuple(np.asarray(data[name], dtype=float) for name in ("ghi", "dni", "dhi"))
    except OSError as error:
        raise UnreadableFileError(f"{path.name} cannot be read: {error.strerror}.") from None
    except Exception as error:
        reason = " ".join(str(error).split())[:LONGEST_REASON]
        raise UnreadableFileError(
            f"{path.name} cannot be read as a {kind} weather file ({reason}); give a table of "
            "hourly irradiance in the module plane instead."
        ) from error
    times = tuple(middle.to_pydatetime())
    return TypicalYear(path.name, None, times, sky)


def _table(path: Path) -> TypicalYear:
    source = path.name
    content = read_bytes(path, source)
    single = _one_column(content)
    if single is not None:
        return TypicalYear(source, single)
    try:
        tables = read_tables(content, source, TextRules(), Deadline(source, SECONDS_LIMIT)).tables
    except NoTableError:
        tables = ()
    if not tables:
        raise UnreadableFileError(
            f"{source} holds no table of hourly irradiance; give one with a column poa_global "
            "(W/m²), or an EPW or TMY3 weather file."
        )
    table = max(tables, key=lambda one: len(one.rows))
    for column, name in enumerate(table.names):
        meaning = meaning_of(name)
        if meaning is not None and meaning.role == "poa_global":
            return TypicalYear(source, np.asarray(table.numbers(column, source), dtype=float))
    raise UnreadableFileError(
        f"{source} has no column named poa_global, only {table.headings() or 'no headings'}; "
        "name the column of irradiance in the module plane (W/m²) so."
    )


def _one_column(content: bytes) -> Array | None:
    """Numbers with a decimal point, one a line, under at most one line of heading."""
    lines = content.lstrip(b"\xef\xbb\xbf").split()
    for start in (0, 1):
        try:
            return np.array([float(line) for line in lines[start:]]) if lines[start:] else None
        except ValueError:
            continue
    return None
