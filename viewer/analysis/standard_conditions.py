"""Measured curves translated to standard test conditions after IEC 60891."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.preparation import Prepared
from viewer.analysis.site_models import SiteModels
from viewer.analysis.trace_result import Curve
from viewer.physics.key_points import KeyPoints, find_key_points_of_many
from viewer.physics.translation import translate

PROCEDURE = 2
"""Of IEC 60891:2021, unless another is asked for."""


@dataclass(frozen=True, eq=False)
class AtStandard:
    """One curve at 1000 W/m² and 25 °C, and the procedure that took it there, in words."""

    curve: Curve
    key_points: KeyPoints
    procedure: str


def translate_to_standard(
    prepared: Sequence[Prepared], models: SiteModels, procedure: int = PROCEDURE
) -> list[AtStandard | None]:
    """A translated curve each, None where conditions or model are missing."""
    moved: list[AtStandard | None] = [None] * len(prepared)
    by_module: dict[str, list[int]] = {}
    for index, one in enumerate(prepared):
        if one.predictable and one.string is not None and np.isfinite(one.measured.values.i_sc):
            by_module.setdefault(one.string.module, []).append(index)
    for key, indices in by_module.items():
        group = [prepared[k] for k in indices]
        made = _translate_type(group, models, key, procedure)
        for index, at_standard in zip(indices, made, strict=True):
            moved[index] = at_standard
    return moved


def _translate_type(
    group: Sequence[Prepared], models: SiteModels, key: str, procedure: int
) -> list[AtStandard]:
    strings = [one.string for one in group if one.string is not None]
    corrections = (
        models.corrections[key]
        .in_series(np.array([string.modules_in_series for string in strings], dtype=float))
        .in_parallel(np.array([string.strings_in_parallel for string in strings], dtype=float))
    )
    translated = translate(
        _padded([one.swept.voltage for one in group]),
        _padded([one.swept.current for one in group]),
        poa_global=np.array(
            [one.conditions.effective_irradiance or one.conditions.poa_global for one in group],
            dtype=float,
        ),
        temperature_cell=np.array([one.conditions.temperature_cell for one in group], dtype=float),
        corrections=corrections,
        procedure=procedure,
        i_sc=np.array([one.measured.values.i_sc for one in group]),
    )
    curves = [
        _finite(voltage, current)
        for voltage, current in zip(translated.voltage, translated.current, strict=True)
    ]
    points = find_key_points_of_many([(one.voltage, one.current) for one in curves])
    return [
        AtStandard(one, found.values, translated.procedure)
        for one, found in zip(curves, points, strict=True)
    ]


def _padded(rows: Sequence[NDArray[np.float64]]) -> NDArray[np.float64]:
    """Rows of unequal length as one array, filled up with NaN."""
    filled = np.full((len(rows), max(row.size for row in rows)), np.nan)
    for k, row in enumerate(rows):
        filled[k, : row.size] = row
    return filled


def _finite(voltage: NDArray[np.float64], current: NDArray[np.float64]) -> Curve:
    good = np.isfinite(voltage) & np.isfinite(current)
    return Curve(voltage[good], current[good])
