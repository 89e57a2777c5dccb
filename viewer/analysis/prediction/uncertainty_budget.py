"""The uncertainty of many traces' key points and power ratios.

Vectorised: one propagation for all traces. How it adds up is told in
`physics.uncertainty`; the inputs' defaults and their sources stand there too.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.results.trace_result import Curve, UsedConditions
from viewer.analysis.results.trace_uncertainty import TraceUncertainty
from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.physics.translation.corrections import Corrections
from viewer.physics.translation.translation_uncertainty import translated_uncertainty
from viewer.physics.uncertainty.prediction_uncertainty import (
    measured_uncertainty,
    predicted_uncertainty,
)
from viewer.physics.uncertainty.uncertainty import (
    InputUncertainties,
    KeyPointUncertainty,
    Numeric,
    ratio_expanded,
)
from viewer.site_data.iv_trace import MeasuredConditions
from viewer.site_data.site_layout import StringLayout

Array = NDArray[np.float64]

ENOUGH_POINTS = 64
"""A sweep is thinned to about this many points: sensitivities need no more."""

DEFAULT_INPUTS = InputUncertainties()


@dataclass(frozen=True, eq=False)
class UncertaintyCase:
    """What the uncertainty of one trace depends on.

    model and corrections are of one module; without a model, or without conditions, only the
    measured values get an uncertainty. cable_resistance [ohm] of one string's cable.
    """

    measured: KeyPoints
    reading: KeyPoints
    """Standard uncertainty of each as found in the noisy points; NaN counts as none."""
    swept: Curve
    read: MeasuredConditions
    conditions: UsedConditions
    string: StringLayout | None = None
    model: ModuleModel | None = None
    corrections: Corrections | None = None
    cable_resistance: float = 0.0
    crystalline: bool = True
    """Whether the modules are of crystalline silicon; the model fits thin film less well."""

    @property
    def predictable(self) -> bool:
        used = self.conditions
        return (
            self.model is not None
            and self.string is not None
            and used.effective_irradiance is not None
            and used.temperature_cell is not None
        )


def trace_uncertainties(
    cases: Sequence[UncertaintyCase],
    inputs: InputUncertainties = DEFAULT_INPUTS,
    procedure: int = 2,
    to: tuple[float, float] = (IRRADIANCE_REF, TEMPERATURE_REF),
) -> list[TraceUncertainty]:
    """One a case, in order. `procedure` is the translation's, of IEC 60891, `to` where it goes:
    irradiance [W/m²] and cell temperature [°C]."""
    found: list[TraceUncertainty | None] = [None] * len(cases)
    groups: dict[tuple[bool, bool], list[int]] = {}
    for k, one in enumerate(cases):
        groups.setdefault((one.predictable, one.corrections is not None), []).append(k)
    for (predictable, _), members in groups.items():
        group = [cases[k] for k in members]
        made = _predicted(group, inputs, procedure, to) if predictable else _alone(group, inputs)
        for k, result in zip(members, made, strict=True):
            found[k] = result
    return [one for one in found if one is not None]


def inputs_of(
    cases: Sequence[UncertaintyCase], inputs: InputUncertainties = DEFAULT_INPUTS
) -> InputUncertainties:
    """The inputs with each trace's own irradiance and temperature, by where they come from,
    and with each technology's own for model and procedure.

    A drift over the sweep adds its half width as a rectangular distribution: what the
    irradiance was at the maximum power point is known no better.
    """
    irradiance, temperature = [], []
    for one in cases:
        used = one.conditions
        drift = _drift(one.read) if used.irradiance_source == "sensor" else 0.0
        irradiance.append(np.hypot(irradiance_by_source(used, inputs), drift))
        temperature.append(temperature_by_source(used, inputs))
    thin = np.array([not one.crystalline for one in cases])
    return replace(
        inputs,
        model=np.where(thin, inputs.model_thin_film, inputs.model),
        procedure=np.where(thin, inputs.procedure_thin_film, inputs.procedure),
        irradiance=np.array(irradiance, dtype=float),
        temperature_cell=np.array(temperature, dtype=float),
    )


def irradiance_by_source(used: UsedConditions, inputs: InputUncertainties) -> Numeric:
    """Standard uncertainty of the irradiance, a fraction, by where it comes from."""
    by_source = {
        "reference cell": inputs.irradiance_by_reference_cell,
        "isc": inputs.irradiance_by_isc,
    }
    return by_source.get(used.irradiance_source, inputs.irradiance)


def temperature_by_source(used: UsedConditions, inputs: InputUncertainties) -> Numeric:
    """Standard uncertainty of the cell temperature [K] by where it comes from."""
    by_source = {
        "air and wind": inputs.temperature_by_air,
        "voc": inputs.temperature_by_voc,
    }
    return by_source.get(used.temperature_source, inputs.temperature_cell)


def _drift(read: MeasuredConditions) -> float:
    """Standard uncertainty, as a fraction, of taking the mean of the first and last reading."""
    first, last = read.poa_global, read.poa_global_end
    if first is None or last is None or not (first > 0.0 and last > 0.0):
        return 0.0
    return abs(last - first) / (first + last) / float(np.sqrt(3.0))


def _measured(group: Sequence[UncertaintyCase], inputs: InputUncertainties) -> KeyPointUncertainty:
    return measured_uncertainty(
        _columns([one.measured for one in group]),
        inputs,
        _columns([one.reading for one in group]),
    )


def _alone(group: Sequence[UncertaintyCase], inputs: InputUncertainties) -> list[TraceUncertainty]:
    """Of the measured values only."""
    return [TraceUncertainty(points) for points in _expanded(_measured(group, inputs))]


def _predicted(
    group: Sequence[UncertaintyCase],
    inputs: InputUncertainties,
    procedure: int,
    to: tuple[float, float],
) -> list[TraceUncertainty]:
    own = inputs_of(group, inputs)
    modules = np.array([one.string.modules_in_series for one in group if one.string], dtype=float)
    strings = np.array([one.string.strings_in_parallel for one in group if one.string], dtype=float)
    cable = np.array([one.cable_resistance for one in group]) / strings
    poa = _floats([one.conditions.effective_irradiance for one in group])
    cell = _floats([one.conditions.temperature_cell for one in group])
    model = ModuleModel.of_each([one.model for one in group if one.model is not None])
    predicted = predicted_uncertainty(model, poa, cell, own, modules, strings, cable)
    measured = _measured(group, own)
    translated = None
    factors = [one.corrections for one in group if one.corrections is not None]
    if factors:
        corrections = Corrections.of_each(factors)
        of_string = corrections.in_series(modules).in_parallel(strings).with_extra_series(cable)
        translated = _translated(group, measured, of_string, own, poa, cell, procedure, to)
    ratio = ratio_expanded(measured, predicted)
    moved = _expanded(translated) if translated is not None else [None] * len(group)
    rows = zip(_expanded(measured), _expanded(predicted), moved, strict=True)
    names, relative, shares = budgets(measured, predicted)
    return [
        TraceUncertainty(*points, _number(ratio[k]), names, relative[k], shares[k])
        for k, points in enumerate(rows)
    ]


def _translated(
    group: Sequence[UncertaintyCase],
    measured: KeyPointUncertainty,
    corrections: Corrections,
    inputs: InputUncertainties,
    poa: Array,
    cell: Array,
    procedure: int,
    to: tuple[float, float],
) -> KeyPointUncertainty:
    reading = measured.contributions["reading"]
    relative = {
        name: np.divide(part, measured.values[name], out=np.zeros_like(part), where=part != 0.0)
        for name, part in reading.items()
    }
    voltage, current = _thinned([one.swept for one in group])
    return translated_uncertainty(
        voltage,
        current,
        poa_global=poa,
        temperature_cell=cell,
        corrections=corrections,
        inputs=inputs,
        to_poa_global=to[0],
        to_temperature_cell=to[1],
        procedure=procedure,
        reading=relative,
    )


def _thinned(curves: Sequence[Curve]) -> tuple[Array, Array]:
    """About ENOUGH_POINTS of each curve, its last one among them, filled up with NaN."""
    chosen = [_spread_out(one.voltage.size) for one in curves]
    voltage = np.full((len(curves), ENOUGH_POINTS), np.nan)
    current = voltage.copy()
    for k, (one, keep) in enumerate(zip(curves, chosen, strict=True)):
        voltage[k, : keep.size], current[k, : keep.size] = one.voltage[keep], one.current[keep]
    return voltage, current


@lru_cache(maxsize=1024)
def _spread_out(points: int) -> NDArray[np.int64]:
    """ENOUGH_POINTS places, or all, evenly among that many."""
    return np.unique(np.linspace(0, points - 1, ENOUGH_POINTS).astype(np.int64))


def budgets(
    measured: KeyPointUncertainty, predicted: KeyPointUncertainty
) -> tuple[tuple[str, ...], Array, Array]:
    """The inputs of the power ratios, their relative contributions and their shares.

    Both arrays (traces, inputs); the shares of each trace's variance add up to one.
    """
    sides = (measured, predicted)
    names = tuple(name for side in sides for name in side.contributions)
    with np.errstate(divide="ignore", invalid="ignore"):
        parts = np.array(
            [
                part["p_mp"] / side.values["p_mp"]
                for side in sides
                for part in side.contributions.values()
            ]
        )
    parts = np.where(np.isfinite(parts), parts, 0.0)
    shares = parts**2 / np.maximum(np.sum(parts**2, axis=0), np.finfo(float).tiny)
    return names, np.ascontiguousarray(np.abs(parts).T), np.ascontiguousarray(shares.T)


def _columns(points: Sequence[KeyPoints]) -> Mapping[str, Array]:
    return {name: _floats([getattr(one, name) for one in points]) for name in KEY_POINT_NAMES}


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _floats(values: Sequence[float | None]) -> Array:
    return np.array(values, dtype=float)


def _expanded(found: KeyPointUncertainty) -> list[KeyPoints]:
    """Expanded uncertainties, one record a trace."""
    columns = [found.expanded(name).tolist() for name in KEY_POINT_NAMES]
    return [KeyPoints(*row) for row in zip(*columns, strict=True)]
