"""The curve a string's datasheet predicts at the conditions of its sweep."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from viewer.analysis.preparation import Prepared
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
    by_module: dict[str, list[int]] = {}
    for index, one in enumerate(prepared):
        if one.predictable and one.string is not None:
            by_module.setdefault(one.string.module, []).append(index)
    for indices in by_module.values():
        for index, made in zip(indices, _of_one_type([prepared[k] for k in indices]), strict=True):
            predictions[index] = made
    return predictions


def _of_one_type(prepared: Sequence[Prepared]) -> list[Prediction]:
    model = prepared[0].model
    if model is None:
        return []
    strings = [one.string for one in prepared if one.string is not None]
    irradiance = [
        one.conditions.effective_irradiance or one.conditions.poa_global for one in prepared
    ]
    parameters = (
        model.operating(
            np.array(irradiance, dtype=float),
            np.array([one.conditions.temperature_cell for one in prepared], dtype=float),
        )
        .in_series([string.modules_in_series for string in strings])
        .in_parallel([string.strings_in_parallel for string in strings])
    )
    points = exact_key_points(parameters)
    voltage, current = curve(parameters, PREDICTED_POINTS)
    return [
        Prediction(
            parameters[k],
            KeyPoints(*(float(points[name][k]) for name in KEY_POINT_NAMES)),
            Curve(voltage[k], current[k]),
        )
        for k in range(len(prepared))
    ]
