"""The rows of a test sheet: which strings, in what order, and what to expect at each."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from viewer.analysis.before_visit.at_the_string import (
    TEMPERATURE_UNCERTAINTY,
    V_OC_TOLERANCE,
    expect_string,
)
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.site_data.site_layout import SiteLayout

I_SC_TOLERANCE = 0.05
"""Relative band for an Isc reading corrected to the forecast irradiance: sensor, soiling and
instrument together (common practice, no source)."""


@dataclass(frozen=True)
class SheetRow:
    """One string to trace, with the band a reading should fall in at the forecast conditions."""

    order: int
    combiner: str
    string: str
    module: str
    modules_in_series: int
    v_oc: float
    v_oc_low: float
    v_oc_high: float
    i_sc: float
    i_sc_low: float
    i_sc_high: float


def sheet_rows(
    layout: SiteLayout,
    models: Mapping[str, ModuleModel],
    strings: Iterable[tuple[str, str]],
    poa_global: float,
    temperature_cell: float,
) -> tuple[SheetRow, ...]:
    """Rows in the order of `strings`, pairs of combiner and string.

    A string whose module has no model is left out. Raises KeyError for a pair that the layout
    does not have.
    """
    rows: list[SheetRow] = []
    for combiner, name in strings:
        string = layout.string(combiner, name)
        if string is None:
            raise KeyError(f"{combiner} {name}")
        if string.module not in models:
            continue
        datasheet = layout.modules[string.module]
        points = expect_string(
            models[string.module], string, poa_global, temperature_cell=temperature_cell
        ).key_points
        by_temperature = abs(datasheet.beta_voc) / 100 * TEMPERATURE_UNCERTAINTY
        band = 2 * (by_temperature**2 + V_OC_TOLERANCE**2) ** 0.5
        rows.append(
            SheetRow(
                len(rows) + 1,
                combiner,
                name,
                string.module,
                string.modules_in_series,
                points.v_oc,
                points.v_oc * (1 - band),
                points.v_oc * (1 + band),
                points.i_sc,
                points.i_sc * (1 - I_SC_TOLERANCE),
                points.i_sc * (1 + I_SC_TOLERANCE),
            )
        )
    return tuple(rows)
