"""A reading recipe: what to take from files of one layout, as a small TOML document.

A recipe names columns, units, where conditions stand, and how combiner and string follow from
the path. What it leaves out is found anew in each file.
"""

from dataclasses import dataclass, field

from viewer.reading.plain.key_names import CONDITION_NAMES

NAME_FIELDS = ("combiner", "string", "measured_at", "serial", "note")
FIELDS = (*NAME_FIELDS, *CONDITION_NAMES)
"""What a recipe can say where to find."""

VERSION = 1


@dataclass(frozen=True)
class ColumnRef:
    """A column by its heading, or by its number from 1 where there is no heading.

    unit: "" takes the heading's own unit, or V, A and so on if that has none.
    sign: -1 for a current that the file gives with a minus sign.
    """

    name: str = ""
    number: int = 0
    unit: str = ""
    sign: int = 1

    def __str__(self) -> str:
        return f"'{self.name[:60]}'" if self.name else f"number {self.number}"


@dataclass(frozen=True)
class CurveColumns:
    """The columns of one curve; `label` becomes the string's name in tables with several."""

    voltage: ColumnRef
    current: ColumnRef
    label: str = ""


@dataclass(frozen=True)
class FieldSource:
    """Where one field stands: key lines, a column, or one value for all files.

    keys, columns: several are put together with a space, such as a date and a time of day.
    pattern: how a time is written, as in strptime ("%d.%m.%Y %H:%M"); "" for the usual ways.
    """

    keys: tuple[str, ...] = ()
    columns: tuple[str, ...] = ()
    value: str = ""
    unit: str = ""
    pattern: str = ""


@dataclass(frozen=True)
class TextRules:
    """How the text is cut; "" lets the reader find out for each file."""

    encoding: str = ""
    delimiter: str = ""
    decimal: str = ""
    thousands: str | None = None


@dataclass(frozen=True)
class Recipe:
    """Everything the reader needs to know of a layout; see the module's docstring."""

    name: str = ""
    text: TextRules = field(default_factory=TextRules)
    sheet: str = ""
    curves: tuple[CurveColumns, ...] = ()
    group_by: tuple[str, ...] = ()
    """Headings of the columns whose values tell the traces of a long table apart."""
    fields: dict[str, FieldSource] = field(default_factory=dict)
    paths: tuple[str, ...] = ()
    """Regular expressions with named groups, searched in the path; see `path_fields`."""


class RecipeError(ValueError):
    """A recipe that cannot be used; the message is one sentence, or several lines of them."""
