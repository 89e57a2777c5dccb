"""The strings a lesson can be held on: two invented ones, and the site's string at hand."""

from dataclasses import dataclass, field, replace
from functools import cached_property

from viewer.analysis.lesson.string_makeup import makeup_of
from viewer.analysis.prediction.string_cable import string_cable_resistance
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.cell_string.cell_fields import StringMakeup
from viewer.physics.cell_string.cells import groups_that_divide
from viewer.physics.nomenclature import counted
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.lesson_site import lesson_site
from viewer.site_data.site_layout import SiteLayout, StringLayout

LESSON_CABLE = 0.3
"""Ohm of cable in the invented strings: about 100 m of 6 mm² copper in all."""


@dataclass(frozen=True, eq=False)
class LessonString:
    """A string to lay scenarios over; its make-up is fitted when first asked for, and kept."""

    title: str
    datasheet: Datasheet
    modules_in_series: int
    resistance: float = LESSON_CABLE
    layout: StringLayout | None = field(default=None, repr=False)
    """The site's string it stands for; None for an invented one."""

    @property
    def rated(self) -> tuple[float, float]:
        """Voc [V] and Isc [A] of the string at STC, for axes that stay at rest."""
        return self.datasheet.v_oc * self.modules_in_series, self.datasheet.i_sc

    @cached_property
    def makeup(self) -> StringMakeup:
        """Raises ValueError in words for a datasheet that cannot be used."""
        return makeup_of(self.datasheet, self.modules_in_series, self.resistance)


def invented_strings() -> tuple[LessonString, ...]:
    """The strings that come with the program."""
    site = lesson_site()
    return tuple(
        LessonString(
            f"{counted(string.modules_in_series, f'{string.name} module')} (invented)",
            site.modules[string.module],
            string.modules_in_series,
        )
        for box in site.combiners
        for string in box.strings
    )


def string_of(result: TraceResult, layout: SiteLayout | None) -> LessonString:
    """The string that a trace was taken of.

    Raises ValueError in words where the site does not tell its module or how many there are.
    """
    trace = result.trace
    string = layout.string(trace.combiner, trace.string) if layout else None
    if layout is None or string is None:
        raise ValueError(
            f"site.toml does not list string {trace.string or '?'} of combiner "
            f"{trace.combiner or '?'}: its module and number of modules are needed."
        )
    sheet = layout.modules.get(string.module)
    if sheet is None:
        raise ValueError(
            f"site.toml has no datasheet [module.{string.module}] for string {string.name}."
        )
    groups = groups_that_divide(sheet.cells_in_series, sheet.bypass_diodes)
    title = f"{trace.combiner} {string.name}: {string.modules_in_series} × {string.module}"
    return LessonString(
        title,
        replace(sheet, bypass_diodes=groups),
        string.modules_in_series,
        string_cable_resistance(string, trace.conditions),
        string,
    )
