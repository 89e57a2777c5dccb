"""The curve a string's datasheet predicts at the conditions of its sweep."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.prediction.preparation import Prepared, field_conditions
from viewer.analysis.results.trace_result import Curve, TraceResult
from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.physics.single_diode import DiodeParameters, curve, exact_key_points

PREDICTED_POINTS = 200


@dataclass(frozen=True, eq=False)
class Prediction:
    """What the datasheet's model gives for one trace's string at its conditions."""

    parameters: DiodeParameters
    key_points: KeyPoints
    curve: Curve
    at_stc: DiodeParameters
    """The same string at standard test conditions."""


def predict(prepared: Sequence[Prepared]) -> list[Prediction | None]:
    """A prediction each, None where something is missing; one evaluation for all."""
    predictions: list[Prediction | None] = [None] * len(prepared)
    places = [k for k, one in enumerate(prepared) if one.predictable]
    made = _of_each([prepared[k] for k in places]) if places else []
    for index, one in zip(places, made, strict=True):
        predictions[index] = one
    return predictions


def _of_each(prepared: Sequence[Prepared]) -> list[Prediction]:
    models = [one.model for one in prepared if one.model is not None]
    model = ModuleModel.of_each(models)
    where = field_conditions(prepared)
    makeup = np.stack(
        [where.modules_in_series, where.cable_resistance, where.strings_in_parallel], axis=1
    )
    parameters = _whole(model.operating(where.irradiance, where.temperature_cell), makeup)
    points = exact_key_points(parameters)
    voltage, current = curve(parameters, PREDICTED_POINTS)
    standard = _at_stc(models, makeup)
    return [
        Prediction(parameters[k], one, Curve(voltage[k], current[k]), standard[k])
        for k, one in enumerate(key_point_records(points))
    ]


def _at_stc(models: Sequence[ModuleModel], makeup: NDArray[np.float64]) -> list[DiodeParameters]:
    """Each string at standard test conditions; equal strings share one."""
    keys = [(id(model), *row) for model, row in zip(models, makeup.tolist(), strict=True)]
    first = {key: k for k, key in reversed(list(enumerate(keys)))}
    kinds = list(first.values())
    model = ModuleModel.of_each([models[k] for k in kinds])
    standard = _whole(model.operating(IRRADIANCE_REF, TEMPERATURE_REF), makeup[kinds])
    shared = {key: standard[k] for k, key in enumerate(first)}
    return [shared[key] for key in keys]


def _whole(module: DiodeParameters, makeup: NDArray[np.float64]) -> DiodeParameters:
    """Strings of a module, each row of `makeup`: modules in series, cable [ohm], in parallel."""
    modules, cable, parallel = makeup.T
    return module.in_series(modules).with_extra_series(cable).in_parallel(parallel)


def predicted_at_stc(result: TraceResult) -> tuple[Curve, KeyPoints] | None:
    """The curve that the datasheet gives for the trace's whole string, its cable included, at
    standard test conditions; None where there is no prediction. Made when it is asked for."""
    if result.model_at_stc is None:
        return None
    one = result.model_at_stc
    voltage, current = curve(one, PREDICTED_POINTS)
    points = KeyPoints(**{name: float(value) for name, value in exact_key_points(one).items()})
    return Curve(voltage, current), points


def key_point_records(columns: Mapping[str, NDArray[np.float64]]) -> list[KeyPoints]:
    """One record a trace out of arrays over many."""
    rows = zip(*(columns[name].tolist() for name in KEY_POINT_NAMES), strict=True)
    return [KeyPoints(*row) for row in rows]
