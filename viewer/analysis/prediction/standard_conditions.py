"""Measured curves translated to standard test conditions after IEC 60891."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.prediction.prediction import key_point_records
from viewer.analysis.prediction.preparation import Prepared, field_conditions
from viewer.analysis.prediction.site_models import SiteModels
from viewer.analysis.results.trace_result import Curve
from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.translation import translate
from viewer.physics.translation.condition_curve import ConditionCurve
from viewer.physics.translation.corrections import Corrections
from viewer.physics.translation.factors_of_device import LEAST_CURVES, device_factors
from viewer.physics.translation.translated_key_points import translated_key_points

PROCEDURE = 2
"""Of IEC 60891:2021, unless another is asked for."""

STANDARD = (IRRADIANCE_REF, TEMPERATURE_REF)

SINGLE_CURVE_PROCEDURES: tuple[int, ...] = (1, 2, 4)
"""Those that translate one curve; procedure 3 needs two measured curves."""


@dataclass(frozen=True, eq=False)
class AtStandard:
    """One curve at standard or other asked conditions, and the procedure that took it there."""

    curve: Curve
    key_points: KeyPoints
    procedure: str


def translate_to_standard(
    prepared: Sequence[Prepared],
    models: SiteModels,
    procedure: int = PROCEDURE,
) -> list[AtStandard | None]:
    """A curve at STC each, None where conditions, model or Isc are missing."""
    return translate_to(prepared, models, procedure, STANDARD)


def translate_to(
    prepared: Sequence[Prepared],
    models: SiteModels,
    procedure: int,
    to: tuple[float, float],
) -> list[AtStandard | None]:
    """The same at another irradiance [W/m²] and cell temperature [°C]."""
    moved: list[AtStandard | None] = [None] * len(prepared)
    of_module = {
        k: models.corrections[one.string.module]
        for k, one in enumerate(prepared)
        if one.predictable and one.string and np.isfinite(one.measured.values.i_sc)
    }
    for members in _alike(of_module, prepared):
        group = [prepared[k] for k in members]
        of_modules = Corrections.of_each([of_module[k] for k in members])
        factors = _own_or_default(group, of_modules, procedure)
        for index, at_standard in zip(members, _move(group, factors, procedure, to), strict=True):
            moved[index] = at_standard
    return moved


def _alike(places: Mapping[int, Corrections], prepared: Sequence[Prepared]) -> list[list[int]]:
    """Each string with curves enough to show factors of its own; all the others together, as far
    as their modules' factors, by place, come from the same source."""
    by_string: dict[tuple[str | None, str | None, int], list[int]] = {}
    for k in places:
        trace = prepared[k].trace
        day = trace.measured_at.toordinal() if trace.measured_at else 0
        by_string.setdefault((trace.combiner, trace.string, day), []).append(k)
    own = [members for members in by_string.values() if len(members) >= LEAST_CURVES]
    taken = {k for members in own for k in members}
    rest: dict[str, list[int]] = {}
    for k, factors in places.items():
        if k not in taken:
            rest.setdefault(factors.source, []).append(k)
    return [*own, *rest.values()]


def _own_or_default(
    group: Sequence[Prepared], of_module: Corrections, procedure: int
) -> Corrections:
    """Factors of the whole strings: a single string's own where its curves show them."""
    where = field_conditions(group)
    default = (
        of_module.in_series(where.modules_in_series)
        .with_extra_series(where.cable_resistance)
        .in_parallel(where.strings_in_parallel)
    )
    trace = group[0].trace
    names = {(one.trace.combiner, one.trace.string) for one in group}
    if len(group) < LEAST_CURVES or len(names) > 1 or trace.string is None:
        return default
    of_string = (
        of_module.in_series(where.modules_in_series[0])
        .with_extra_series(where.cable_resistance[0])
        .in_parallel(where.strings_in_parallel[0])
    )
    curves = [
        ConditionCurve(
            one.swept.voltage,
            one.swept.current,
            float(where.irradiance[k]),
            float(where.temperature_cell[k]),
        )
        for k, one in enumerate(group)
    ]
    return device_factors(curves, of_string, procedure).corrections


def _move(
    group: Sequence[Prepared], corrections: Corrections, procedure: int, to: tuple[float, float]
) -> list[AtStandard]:
    where = field_conditions(group)
    voltage = _padded([one.swept.voltage for one in group])
    current = _padded([one.swept.current for one in group])
    translated = translate(
        voltage,
        current,
        poa_global=where.irradiance,
        temperature_cell=where.temperature_cell,
        corrections=corrections,
        to_poa_global=to[0],
        to_temperature_cell=to[1],
        procedure=procedure,
        i_sc=np.array([one.measured.values.i_sc for one in group]),
        v_oc=np.array([one.measured.values.v_oc for one in group]),
    )
    points = key_point_records(translated_key_points(translated))
    return [
        AtStandard(
            Curve(*translated.curve(k)),
            points[k],
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
