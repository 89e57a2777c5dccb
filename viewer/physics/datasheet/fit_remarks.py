"""What a fitted model could not take from its datasheet, in sentences."""

import numpy as np
from numpy.typing import NDArray

from viewer.physics.datasheet.datasheet_checks import SHARPEST_DIODE_FACTOR
from viewer.physics.datasheet.datasheet_columns import DatasheetColumns
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.datasheet.technology_fit import expected_by_technology
from viewer.physics.single_diode import exact_key_points

Array = NDArray[np.float64]

UNMET = 5e-5
"""Relative coefficient missed by more than this is said, 1/K: half of what a datasheet's second
decimal of a percent can tell."""


def fit_remarks(
    columns: DatasheetColumns, model: ModuleModel, residuals: dict[str, Array]
) -> tuple[tuple[str, ...], ...]:
    """One tuple of sentences for each module."""
    sentences: list[tuple[str, ...]] = [()] * model.shape[0]
    for index, sentence in (
        _sharp_points(columns, model)
        + _missed(columns, "beta_voc", residuals["beta_voc"] / columns.points.v_oc)
        + _missed(columns, "gamma_pmp", residuals["gamma_pmp"])
    ):
        sentences[index] += (sentence,)
    return tuple(sentences)


def _sharp_points(columns: DatasheetColumns, model: ModuleModel) -> list[tuple[int, str]]:
    """Printed maximum power points that no real diode factor reaches."""
    sharp = model.diode_factor_ref < SHARPEST_DIODE_FACTOR * columns.junctions
    chosen = np.flatnonzero(sharp)
    if not chosen.size:
        return []
    likely = exact_key_points(expected_by_technology(columns, chosen))
    points = columns.points[chosen]
    return [
        (
            int(index),
            f"Imp {points.i_mp[k]:g} A is {100 * points.i_mp[k] / points.i_sc[k]:.1f} % of Isc, "
            f"more than a real diode allows; at the same power about "
            f"{likely['i_mp'][k]:.4g} A and {likely['v_mp'][k]:.4g} V would fit. The model meets "
            "the printed point at STC and follows the likely one at lower irradiance.",
        )
        for k, index in enumerate(chosen)
    ]


def _missed(columns: DatasheetColumns, name: str, missed: Array) -> list[tuple[int, str]]:
    """Coefficients, relative and in 1/K, that the model does not meet."""
    printed = {
        "beta_voc": columns.beta_voc / columns.points.v_oc,
        "gamma_pmp": columns.gamma_pmp,
    }[name]
    reached = printed + missed
    return [
        (
            int(index),
            f"{name} {100 * printed[index]:.3g} %/K does not go with the other values; the "
            f"model has {100 * reached[index]:.3g} %/K.",
        )
        for index in np.flatnonzero(np.abs(missed) > UNMET)
    ]
