"""Which numbers of a datasheet contradict each other or physics, and the likely mistake.

`contradictions` are such that no model is made; `doubts` come with a model and say what was
assumed for it. Limits without a source are judgement, set outside anything in pvlib's CEC list.
"""

import math
from dataclasses import dataclass

from viewer.physics.datasheet.cell_count import likely_cells
from viewer.physics.datasheet.module_model import BOLTZMANN, T_REF
from viewer.physics.datasheet.technology import Technology

SHARPEST_DIODE_FACTOR = 2.0 / 3.0
"""Of a silicon cell limited by Auger recombination in high injection, the lowest in theory
(A. Richter, M. Hermle and S. W. Glunz, IEEE J. Photovoltaics 3 (2013) 1184)."""

LARGEST_ALPHA_SHARE = 0.0025
"""Relative size of alpha_sc above which its unit must be mistaken, 1/K."""

STRONG_BETA_SHARE = 0.0045
"""Relative size of beta_voc that crystalline silicon hardly reaches, 1/K."""

COEFFICIENT_RANGE = (0.0010, 0.0095)
"""Relative size beta_voc and gamma_pmp can have, 1/K."""


@dataclass(frozen=True)
class DatasheetNumbers:
    """One module's values: A, V, A/K, V/K, 1/K."""

    technology: Technology
    i_sc: float
    v_oc: float
    i_mp: float
    v_mp: float
    alpha_sc: float
    beta_voc: float
    gamma_pmp: float
    cells_in_series: float


def contradictions(d: DatasheetNumbers) -> tuple[str, ...]:
    """One sentence for each contradiction that makes a model impossible; empty if none."""
    wrong_sign = tuple(
        f"{label} is {value:g}; it must be a number above zero."
        for label, value in (
            ("Isc", d.i_sc),
            ("Voc", d.v_oc),
            ("Imp", d.i_mp),
            ("Vmp", d.v_mp),
            ("The number of cells in series", d.cells_in_series),
        )
        if not (math.isfinite(value) and value > 0.0)
    )
    if wrong_sign:
        return wrong_sign
    wrong_points = _points(d)
    if wrong_points:
        return wrong_points
    found = _cells(d) or _fill_factor(d)
    return found + _alpha(d) + _voltage_and_power_coefficients(d)


def doubts(d: DatasheetNumbers, cells: float) -> tuple[str, ...]:
    """One sentence for each thing that was assumed; `cells` is the number in series used."""
    found = []
    if cells != d.cells_in_series:
        found.append(
            f"Voc {d.v_oc:g} V over {d.cells_in_series:g} cells is "
            f"{d.v_oc / d.cells_in_series:.2f} V a cell, which {d.technology.name} does not "
            f"have; {cells:g} cells in series were assumed"
            + (
                " (half-cut and shingled modules have several paths of cells in parallel)."
                if cells < d.cells_in_series
                else "."
            )
        )
    if d.alpha_sc == 0.0:
        found.append("alpha_sc is zero, which few modules have; it may have been left out.")
    elif -d.alpha_sc > 0.0 and d.technology.crystalline:
        found.append(
            f"alpha_sc {d.alpha_sc:g} A/K is negative, which crystalline silicon does not have."
        )
    if d.beta_voc < -STRONG_BETA_SHARE * d.v_oc and d.technology.crystalline:
        found.append(
            f"beta_voc {d.beta_voc:g} V/K is {100 * d.beta_voc / d.v_oc:.3g} %/K of Voc, more "
            "than crystalline silicon has; a value in %/K may have been given as V/K."
        )
    if abs(d.gamma_pmp) < 0.8 * abs(d.beta_voc / d.v_oc) and d.technology.crystalline:
        found.append(
            f"gamma_pmp {100 * d.gamma_pmp:.3g} %/K is weaker than beta_voc "
            f"{100 * d.beta_voc / d.v_oc:.3g} %/K; in crystalline silicon it is the stronger."
        )
    if not d.technology.crystalline:
        found.append(
            f"The single-diode model describes {d.technology.name} only roughly: expect errors "
            "of several percent away from 1000 W/m² and 25 °C."
        )
    return tuple(found)


def _points(d: DatasheetNumbers) -> tuple[str, ...]:
    beyond = d.i_mp >= d.i_sc or d.v_mp >= d.v_oc
    if beyond and d.v_mp < d.i_sc and d.i_mp < d.v_oc:
        swapped = "Isc and Voc" if d.i_sc > d.v_oc else "Imp and Vmp"
        return (
            f"Imp {d.i_mp:g} A and Vmp {d.v_mp:g} V do not fit Isc {d.i_sc:g} A and "
            f"Voc {d.v_oc:g} V; {swapped} look swapped.",
        )
    found = []
    for mp, low, end, high, unit in (
        ("Imp", d.i_mp, "Isc", d.i_sc, "A"),
        ("Vmp", d.v_mp, "Voc", d.v_oc, "V"),
    ):
        if low >= high:
            found.append(
                f"{mp} {low:g} {unit} is not below {end} {high:g} {unit}; the two look swapped "
                "or one is mistyped."
            )
        elif low <= 0.5 * high:
            found.append(
                f"{mp} {low:g} {unit} is half of {end} {high:g} {unit} or less, which no "
                "module has; one of the two is mistyped."
            )
    return tuple(found)


def _cells(d: DatasheetNumbers) -> tuple[str, ...]:
    if likely_cells(d.cells_in_series, d.v_oc, d.technology) is not None:
        return ()
    low, high = d.technology.voltage_per_cell
    fewest, most = math.ceil(d.v_oc / high), math.floor(d.v_oc / low)
    cells = "1 cell" if d.cells_in_series == 1 else f"{d.cells_in_series:g} cells"
    return (
        f"{cells} in series for Voc {d.v_oc:g} V is {d.v_oc / d.cells_in_series:.3g} V a cell; "
        f"{d.technology.name} has {low:g} to {high:g} V, so {fewest} to {most} cells would fit "
        "(or the technology is another).",
    )


def _fill_factor(d: DatasheetNumbers) -> tuple[str, ...]:
    cells = likely_cells(d.cells_in_series, d.v_oc, d.technology) or d.cells_in_series
    fill = d.i_mp * d.v_mp / (d.i_sc * d.v_oc)
    highest = highest_fill_factor(d.v_oc / cells)
    if fill <= highest:
        return ()
    return (
        f"Imp·Vmp over Isc·Voc is {fill:.3f}; cells of {d.v_oc / cells:.2f} V cannot have more "
        f"than {highest:.3f}, so one of the four numbers is mistyped.",
    )


def highest_fill_factor(voltage_per_cell: float) -> float:
    """Fill factor without resistances at the sharpest knee physics allows.

    M. A. Green, Solar Cells 7 (1982) 337-340, equation 3, valid above a normalised voltage
    of 10.
    """
    v = voltage_per_cell / (SHARPEST_DIODE_FACTOR * BOLTZMANN * T_REF)
    return (v - math.log(v + 0.72)) / (v + 1.0)


def _alpha(d: DatasheetNumbers) -> tuple[str, ...]:
    if not math.isfinite(d.alpha_sc):
        return ("alpha_sc is missing; modules have about 0.05 %/K.",)
    share = d.alpha_sc / d.i_sc
    if abs(share) <= LARGEST_ALPHA_SHARE:
        return ()
    return (
        f"alpha_sc is {100 * share:.3g} %/K of Isc ({d.alpha_sc:g} A/K), where modules have about "
        "0.05 %/K; the unit is probably mistaken, %/K given as A/K or mA/K as %/K.",
    )


def _voltage_and_power_coefficients(d: DatasheetNumbers) -> tuple[str, ...]:
    return _coefficient(
        "beta_voc", f"{d.beta_voc:g} V/K", d.beta_voc / d.v_oc, "Voc", "%/K given as V/K or mV/K"
    ) + _coefficient(
        "gamma_pmp", f"{d.gamma_pmp:g} 1/K", d.gamma_pmp, "Pmp", "%/K given as 1/K or W/K"
    )


def _coefficient(name: str, value: str, share: float, of: str, mistake: str) -> tuple[str, ...]:
    usual = "modules have about -0.25 to -0.5 %/K"
    if not math.isfinite(share):
        return (f"{name} is missing; {usual}.",)
    if share == 0.0:
        return (f"{name} is zero; {usual}, so it was probably left out.",)
    if share > 0.0:
        return (f"{name} is positive ({value}); the minus sign is probably missing.",)
    least, most = COEFFICIENT_RANGE
    if least <= -share <= most:
        return ()
    return (
        f"{name} is {100 * share:.3g} %/K of {of} ({value}); {usual}, so the unit is probably "
        f"mistaken, {mistake} as %/K.",
    )
