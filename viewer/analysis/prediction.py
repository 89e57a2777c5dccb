"""The curve a string's datasheet predicts at the conditions of its sweep."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.preparation import Prepared, by_module, field_conditions
from viewer.analysis.trace_result import Curve
from viewer.physics.key_points import KeyPoints
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.physics.prediction_uncertainty import measured_uncertainty, predicted_uncertainty
from viewer.physics.single_diode import DiodeParameters, curve, exact_key_points
from viewer.physics.uncertainty import InputUncertainties, KeyPointUncertainty, ratio_expanded

PREDICTED_POINTS = 200


@dataclass(frozen=True, eq=False)
class Prediction:
    """What the datasheet's model gives for one trace's string at its conditions."""

    parameters: DiodeParameters
    key_points: KeyPoints
    curve: Curve
    uncertainty: KeyPoints
    """Expanded, k = 2."""
    power_ratio: float
    power_ratio_uncertainty: float
    measured_uncertainty: KeyPoints


def predict(prepared: Sequence[Prepared], inputs: InputUncertainties) -> list[Prediction | None]:
    """A prediction each, None where something is missing; one evaluation a module type."""
    predictions: list[Prediction | None] = [None] * len(prepared)
    for indices in by_module(prepared).values():
        made = _of_one_type([prepared[k] for k in indices], inputs)
        for index, one in zip(indices, made, strict=True):
            predictions[index] = one
    return predictions


def _of_one_type(prepared: Sequence[Prepared], inputs: InputUncertainties) -> list[Prediction]:
    model = prepared[0].model
    if model is None:
        return []
    where = field_conditions(prepared)
    series, parallel = where.modules_in_series, where.strings_in_parallel
    parameters = (
        model.operating(where.irradiance, where.temperature_cell)
        .in_series(series)
        .in_parallel(parallel)
    )
    voltage, current = curve(parameters, PREDICTED_POINTS)
    predicted = predicted_uncertainty(
        model, where.irradiance, where.temperature_cell, inputs, series, parallel
    )
    measured = measured_uncertainty(
        _columns([one.measured.values for one in prepared]),
        inputs,
        _columns([one.measured.standard_uncertainty for one in prepared]),
    )
    ratio = measured.values["p_mp"] / predicted.values["p_mp"]
    ratio_uncertainty = ratio_expanded(measured, predicted)
    points = exact_key_points(parameters)
    return [
        Prediction(
            parameters[k],
            key_points_at(points, k),
            Curve(voltage[k], current[k]),
            expanded_at(predicted, k),
            float(ratio[k]),
            float(ratio_uncertainty[k]),
            expanded_at(measured, k),
        )
        for k in range(len(prepared))
    ]


def _columns(rows: Sequence[KeyPoints]) -> dict[str, NDArray[np.float64]]:
    """Key points of many traces as one array a key point."""
    return {name: np.array([getattr(row, name) for row in rows]) for name in KEY_POINT_NAMES}


def key_points_at(columns: Mapping[str, NDArray[np.float64]], index: int) -> KeyPoints:
    """The key points of one trace out of arrays over many."""
    return KeyPoints(*(float(columns[name][index]) for name in KEY_POINT_NAMES))


def expanded_at(uncertainty: KeyPointUncertainty, index: int) -> KeyPoints:
    """The expanded uncertainties (k = 2) of one trace out of arrays over many."""
    return KeyPoints(*(float(uncertainty.expanded(name)[index]) for name in KEY_POINT_NAMES))
