"""The curve a string's datasheet predicts at the conditions of its sweep."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.preparation import Prepared, by_module, field_conditions
from viewer.analysis.trace_result import Curve
from viewer.physics.key_points import KeyPoints
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.physics.single_diode import DiodeParameters, curve, exact_key_points

PREDICTED_POINTS = 200


@dataclass(frozen=True, eq=False)
class Prediction:
    """What the datasheet's model gives for one trace's string at its conditions."""

    parameters: DiodeParameters
    key_points: KeyPoints
    curve: Curve


def predict(prepared: Sequence[Prepared]) -> list[Prediction | None]:
    """A prediction each, None where something is missing; one evaluation a module type."""
    predictions: list[Prediction | None] = [None] * len(prepared)
    for indices in by_module(prepared).values():
        made = _of_one_type([prepared[k] for k in indices])
        for index, one in zip(indices, made, strict=True):
            predictions[index] = one
    return predictions


def _of_one_type(prepared: Sequence[Prepared]) -> list[Prediction]:
    model = prepared[0].model
    if model is None:
        return []
    where = field_conditions(prepared)
    parameters = (
        model.operating(where.irradiance, where.temperature_cell)
        .in_series(where.modules_in_series)
        .with_extra_series(where.cable_resistance)
        .in_parallel(where.strings_in_parallel)
    )
    points = exact_key_points(parameters)
    voltage, current = curve(parameters, PREDICTED_POINTS)
    return [
        Prediction(parameters[k], one, Curve(voltage[k], current[k]))
        for k, one in enumerate(key_point_records(points))
    ]


def key_point_records(columns: Mapping[str, NDArray[np.float64]]) -> list[KeyPoints]:
    """One record a trace out of arrays over many."""
    rows = zip(*(columns[name].tolist() for name in KEY_POINT_NAMES), strict=True)
    return [KeyPoints(*row) for row in rows]
