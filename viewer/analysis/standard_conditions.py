"""Measured curves translated to standard test conditions after IEC 60891."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.prediction import key_points_at
from viewer.analysis.preparation import Prepared, by_module, field_conditions
from viewer.analysis.site_models import SiteModels
from viewer.analysis.trace_result import Curve
from viewer.physics.key_points import KeyPoints
from viewer.physics.translation import translate
from viewer.physics.translation.translated_key_points import translated_key_points

PROCEDURE = 2
"""Of IEC 60891:2021, unless another is asked for."""


@dataclass(frozen=True, eq=False)
class AtStandard:
    """One curve at 1000 W/m² and 25 °C, and the procedure that took it there, in words."""

    curve: Curve
    key_points: KeyPoints
    procedure: str


def translate_to_standard(
    prepared: Sequence[Prepared],
    models: SiteModels,
    procedure: int = PROCEDURE,
) -> list[AtStandard | None]:
    """A translated curve each, None where conditions, model or Isc are missing."""
    moved: list[AtStandard | None] = [None] * len(prepared)
    for key, indices in by_module(prepared).items():
        known = [k for k in indices if np.isfinite(prepared[k].measured.values.i_sc)]
        if not known:
            continue
        group = [prepared[k] for k in known]
        made = _translate_type(group, models, key, procedure)
        for index, at_standard in zip(known, made, strict=True):
            moved[index] = at_standard
    return moved


def _translate_type(
    group: Sequence[Prepared],
    models: SiteModels,
    key: str,
    procedure: int,
) -> list[AtStandard]:
    where = field_conditions(group)
    corrections = (
        models.corrections[key]
        .in_series(where.modules_in_series)
        .with_extra_series(where.cable_resistance)
        .in_parallel(where.strings_in_parallel)
    )
    voltage = _padded([one.swept.voltage for one in group])
    current = _padded([one.swept.current for one in group])
    translated = translate(
        voltage,
        current,
        poa_global=where.irradiance,
        temperature_cell=where.temperature_cell,
        corrections=corrections,
        procedure=procedure,
        i_sc=np.array([one.measured.values.i_sc for one in group]),
        v_oc=np.array([one.measured.values.v_oc for one in group]),
    )
    points = translated_key_points(translated)
    return [
        AtStandard(
            Curve(*translated.curve(k)),
            key_points_at(points, k),
            translated.procedure,
        )
        for k in range(len(group))
    ]


def _padded(rows: Sequence[NDArray[np.float64]]) -> NDArray[np.float64]:
    """Rows of unequal length as one array, filled up with NaN."""
    filled = np.full((len(rows), max(row.size for row in rows)), np.nan)
    for k, row in enumerate(rows):
        filled[k, : row.size] = row
    return filled
