"""The site overview's colours as numbers: how far each string is from what is expected."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.losses.site_overview import (
    OVERVIEW_QUANTITIES,
    OverviewQuantity,
    SiteOverview,
    site_overview,
)
from viewer.physics.nomenclature import KEY_POINT_NAMES, quantity
from viewer.state.session import Session

Array = NDArray[np.float64]

MARK_FROM = 0.5
"""Share of the full colour from which a string carries a mark, so that colour is not alone."""


@dataclass(frozen=True, eq=False)
class OverviewGrid:
    """`colour` runs from -1 (worst) over 0 (as expected) to 1, NaN where nothing is known.

    traces[row][column] is the id of the trace shown there, "" for none; `exists` tells where
    the site has a string at all; `full` is what the strongest colour stands for, in words.
    """

    overview: SiteOverview
    colour: Array
    exists: NDArray[np.bool_]
    traces: tuple[tuple[str, ...], ...]
    full: str

    @property
    def shape(self) -> tuple[int, int]:
        return self.colour.shape[0], self.colour.shape[1]

    def string(self, row: int, column: int) -> str:
        names = self.overview.strings[row]
        return names[column] if column < len(names) else ""

    def text(self, row: int, column: int) -> str:
        """The value as printed in its cell."""
        value = float(self.overview.values[row, column])
        if value != value:
            return "–"
        return f"{value:.0f}" if self.overview.quantity.unit == "W" else f"{value:.3f}"

    def place_of(self, trace_id: str) -> tuple[int, int] | None:
        return self._places.get(trace_id)

    @cached_property
    def _places(self) -> dict[str, tuple[int, int]]:
        return {
            one: (row, column)
            for row, line in enumerate(self.traces)
            for column, one in enumerate(line)
            if one
        }


def overview_grid(session: Session, name: str) -> OverviewGrid:
    """The grid of the shown visit, or of each string's latest trace when all are shown."""
    ids = session.shown_ids()
    results = [one for one in session.results if ids is None or one.trace.source in ids]
    overview = site_overview(results, session.layout, name)
    colour, full = _colour(overview, session.settings.value.grid_range / 100.0)
    width = overview.values.shape[1]
    exists = np.array(
        [[k < len(names) for k in range(width)] for names in overview.strings], dtype=bool
    ).reshape(overview.values.shape)
    traces = tuple(
        tuple(results[place].trace.source if place >= 0 else "" for place in line)
        for line in overview.results.tolist()
    )
    return OverviewGrid(overview, colour, exists, traces, full)


def _colour(overview: SiteOverview, grid_range: float) -> tuple[Array, str]:
    values, shown = overview.values, overview.quantity
    if shown.name.endswith("_ratio"):
        colour = np.clip((values - 1.0) / grid_range, -1.0, 1.0)
        return colour, f"{1 - grid_range:.2f} … 1 … {1 + grid_range:.2f}"
    known = values[np.isfinite(values)]
    if shown.unit == "W":
        top = float(np.percentile(known, 99.0)) if known.size else 1.0
        top = max(top, float(known.max(initial=0.0)) / 4.0, 1.0)
        return -np.clip(values / top, 0.0, 1.0), f"0 … {top:.0f} W"
    return -np.clip(values, 0.0, 1.0), "0 … 1"


def quantity_choices() -> list[tuple[str, str]]:
    """(words, name) of every quantity."""
    return [(label_of(one), one.name) for one in OVERVIEW_QUANTITIES.values()]


def label_of(shown: OverviewQuantity) -> str:
    """Its label; a key point's by its printed symbol."""
    point = shown.name.removesuffix("_ratio")
    return f"{quantity(point).label} over predicted" if point in KEY_POINT_NAMES else shown.label
