"""Which numbers of a datasheet contradict each other or physics, and the likely mistake."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.technology import Technology

Array = NDArray[np.float64]


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
    for name in ("i_sc", "v_oc", "i_mp", "v_mp", "cells_in_series"):
        value = getattr(d, name)
        if not np.isfinite(value) or value <= 0.0:
            return (f"{name} is {value:g}; it must be a positive number.",)
    return _point_contradictions(d) or _cell_contradictions(d) + _coefficient_contradictions(d)


def _point_contradictions(d: DatasheetNumbers) -> tuple[str, ...]:
    swapped = d.v_mp < d.i_sc and d.i_mp < d.v_oc and d.v_mp < d.v_oc
    if (d.i_mp >= d.i_sc or d.v_mp >= d.v_oc) and swapped:
        return (
            f"Imp {d.i_mp:g} A and Vmp {d.v_mp:g} V do not fit Isc {d.i_sc:g} A and "
            f"Voc {d.v_oc:g} V; they look swapped.",
        )
    if d.i_mp >= d.i_sc:
        return (
            f"Imp {d.i_mp:g} A is not below Isc {d.i_sc:g} A; the two look swapped or mistyped.",
        )
    if d.v_mp >= d.v_oc:
        return (
            f"Vmp {d.v_mp:g} V is not below Voc {d.v_oc:g} V; the two look swapped or mistyped.",
        )
    if d.i_mp <= 0.5 * d.i_sc:
        return (
            f"Imp {d.i_mp:g} A is half of Isc {d.i_sc:g} A or less, which no module has; "
            "one of the two is mistyped.",
        )
    if d.v_mp <= 0.5 * d.v_oc:
        return (
            f"Vmp {d.v_mp:g} V is half of Voc {d.v_oc:g} V or less, which no module has; "
            "one of the two is mistyped.",
        )
    return ()


def _cell_contradictions(d: DatasheetNumbers) -> tuple[str, ...]:
    per_cell = d.v_oc / d.cells_in_series
    low, high = d.technology.voltage_per_cell
    if per_cell > 1.6 * high:
        likely = round(d.v_oc / (0.5 * (low + high)))
        return (
            f"{d.cells_in_series:g} cells in series for Voc {d.v_oc:g} V is {per_cell:.2f} V a "
            f"cell, which {d.technology.name} does not reach; about {likely} cells would fit.",
        )
    return ()


def _coefficient_contradictions(d: DatasheetNumbers) -> tuple[str, ...]:
    found = []
    alpha, beta = 100.0 * d.alpha_sc / d.i_sc, 100.0 * d.beta_voc / d.v_oc
    gamma = 100.0 * d.gamma_pmp
    if abs(alpha) > 0.6:
        found.append(
            f"alpha_sc {d.alpha_sc:g} A/K is {alpha:.2f} %/K of Isc, far above what modules "
            "have (about 0.05 %/K); percent may have been given as A/K."
        )
    for name, value, unit, share, usual in (
        ("beta_voc", d.beta_voc, "V/K", beta, -0.3),
        ("gamma_pmp", d.gamma_pmp, "1/K", gamma, -0.4),
    ):
        if not np.isfinite(value) or value == 0.0:
            found.append(f"{name} is missing or zero; modules have about {usual:g} %/K.")
        elif value > 0.0:
            found.append(f"{name} {value:g} {unit} is positive; its minus sign may be missing.")
        elif not 0.1 <= abs(share) <= 0.9:
            found.append(
                f"{name} {value:g} {unit} is {share:.3g} %/K; modules have about "
                f"{usual:g} %/K, so the unit may be mistaken."
            )
    return tuple(found)
