"""A document as data: sections of blocks that a PDF and a workbook print alike.

Numbers stay numbers here; each table column says how they are printed.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from viewer.analysis.causes.confirmation import Confirmation
from viewer.reports.annotation import PlacedAnnotation
from viewer.reports.curve_figure import CurveFigure

Value = str | float | int | None


@dataclass(frozen=True)
class Column:
    """One column: `decimals` None for text; `share` its part of the page's width.

    With `by_row` the table's `row_decimals` say how each row's number is printed. `as_entered`
    marks names from files and people: they are never rewritten for a locale. A `probability` that
    is only nearly 0 or 1 is not printed as either.
    """

    heading: str
    unit: str = ""
    decimals: int | None = None
    share: float = 1.0
    by_row: bool = False
    as_entered: bool = False
    probability: bool = False

    @property
    def title(self) -> str:
        return f"{self.heading} ({self.unit})" if self.unit else self.heading

    def text(self, value: Value, decimals: int | None = None) -> str:
        """The value as printed; an en dash when it is not known."""
        if value is None or value != value:  # NaN differs from itself
            return "–"
        if self.decimals is None or isinstance(value, str):
            return str(value)
        places = decimals if self.by_row and decimals is not None else self.decimals
        printed = f"{value:.{places}f}"
        if self.probability and places and float(printed) in (0.0, 1.0):
            last = 10.0**-places
            return f"> {1.0 - last:.{places}f}" if value > 0.5 else f"< {last:.{places}f}"
        return printed


@dataclass(frozen=True)
class Paragraph:
    """`as_entered`: a person's words, printed exactly so."""

    text: str
    strong: bool = False
    as_entered: bool = False


@dataclass(frozen=True)
class BulletList:
    items: tuple[str, ...]
    as_entered: bool = False


@dataclass(frozen=True)
class TableBlock:
    """`name` titles the workbook's sheet; rows are as long as `columns`.

    A table that is `only_printed` gets no sheet: its numbers stand in one that has all traces.
    One that is not `headed` stands under a heading that says its name already.
    """

    name: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Value, ...], ...]
    note: str = ""
    row_decimals: tuple[int, ...] = ()
    only_printed: bool = False
    headed: bool = True

    def printed(self) -> list[list[str]]:
        """The rows as text."""
        places = self.row_decimals or (None,) * len(self.rows)
        return [
            [column.text(value, place) for column, value in zip(self.columns, row, strict=True)]
            for row, place in zip(self.rows, places, strict=True)
        ]


@dataclass(frozen=True, eq=False)
class FigureBlock:
    figure: CurveFigure
    caption: str
    height: float = 0.35
    """Part of the page's height."""
    marks: tuple[PlacedAnnotation, ...] = ()


@dataclass(frozen=True, eq=False)
class PrintedPicture:
    """`load` gives a JPEG, or raises ValueError or OSError with one sentence."""

    caption: str
    load: Callable[[], bytes]


@dataclass(frozen=True, eq=False)
class PictureBlock:
    """Two a row."""

    pictures: tuple[PrintedPicture, ...]


@dataclass(frozen=True)
class Facts:
    """Name and value in two columns: who, when, with what."""

    name: str
    entries: tuple[tuple[str, str], ...]


Block = Paragraph | BulletList | TableBlock | FigureBlock | PictureBlock | Facts


@dataclass(frozen=True)
class Section:
    """`on_new_page` for the summary and what follows it."""

    heading: str
    blocks: tuple[Block, ...]
    on_new_page: bool = False


@dataclass(frozen=True)
class ReportDetails:
    """What people enter: printed as it stands, escaped where it is printed.

    instruments: one line each with name, serial number and calibration date. texts: by the
    source of a trace, what shall be said of it instead of the program's own words. strings:
    the sources to report in full, empty for all.
    """

    title: str = ""
    client: str = ""
    tester: str = ""
    qualification: str = ""
    instruments: tuple[str, ...] = ()
    weather: str = ""
    sensor: str = ""
    """Where the irradiance sensor stood and in which plane; where temperature was read."""
    next_inspection: str = ""
    remarks: str = ""
    logo: Path | None = None
    language: str = "en"
    decimal_comma: bool = False
    texts: dict[str, str] = field(default_factory=dict)
    strings: tuple[str, ...] = ()
    plots: bool = True
    marks: tuple[PlacedAnnotation, ...] = ()
    """What people drew on the plots."""
    pictures: Mapping[str, tuple[PrintedPicture, ...]] = field(default_factory=dict)
    """Of faults, by the source of the trace on whose page they are printed."""
    settled: Mapping[str, Confirmation] = field(default_factory=dict)
    """What was found to be true in the field, by the source of the trace it is about."""
    changed_limits: tuple[tuple[str, str, str], ...] = ()
    """Thresholds of the condition checks that are not the usual ones: name, usual and used value,
    with units."""


@dataclass(frozen=True, eq=False)
class Document:
    """The first section is the one-page summary."""

    kind: str
    title: str
    details: ReportDetails
    sections: tuple[Section, ...]
    workbook_tables: tuple[TableBlock, ...] = ()
    """Numbers that only the workbook holds."""

    def tables(self) -> Sequence[TableBlock]:
        """The workbook's tables."""
        printed = [
            block
            for section in self.sections
            for block in section.blocks
            if isinstance(block, TableBlock) and not block.only_printed
        ]
        return [*printed, *self.workbook_tables]
