"""The curve of a device at any conditions: between its own curves, or each of them moved there."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.comparison import uncertainty_case
from viewer.analysis.device.usable_traces import condition_curve
from viewer.analysis.prediction.prediction import key_point_records
from viewer.analysis.prediction.preparation import Prepared
from viewer.analysis.prediction.site_models import SiteModels
from viewer.analysis.prediction.standard_conditions import translate_to
from viewer.analysis.prediction.uncertainty_budget import inputs_of, trace_uncertainties
from viewer.analysis.results.trace_result import Curve
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.physics.translation.condition_curve import ConditionCurve
from viewer.physics.translation.interpolation import (
    CURRENT_BY_WARMTH,
    curves_between,
    interpolate,
)
from viewer.physics.translation.procedures import TranslatedCurve
from viewer.physics.translation.translated_key_points import translated_key_points
from viewer.physics.uncertainty.uncertainty import (
    InputUncertainties,
    KeyPointUncertainty,
    scale_contribution,
)
from viewer.site_data.site_layout import SiteLayout

INTERPOLATION: Mapping[str, float] = {
    "i_sc": 0.0005,
    "v_oc": 0.0017,
    "i_mp": 0.0015,
    "v_mp": 0.0015,
    "p_mp": 0.003,
    "fill_factor": 0.003,
}
"""Relative standard uncertainty by the interpolation itself: root mean squares against pvlib's
curves. Of the maximum power 0.17 to 0.29 % over wide gaps (tests/benchmarks/bench_translation.py);
of the others over gaps of some 200 W/m² and 15 K. Points equally far below Isc are not the same
shares of the way to Voc, which takes most of it there."""
CURRENTS = ("i_sc", "i_mp", "p_mp")
"""What goes with irradiance and temperature together, which interpolation leaves out."""


@dataclass(frozen=True, eq=False)
class AtConditions:
    """A curve at asked conditions; `sources` are the traces it comes from.

    uncertainty: expanded (k = 2), each key point in its own unit; None where it cannot be told,
    which a remark then says.
    """

    curve: Curve
    key_points: KeyPoints
    uncertainty: KeyPoints | None
    procedure: str
    sources: tuple[str, ...]
    remarks: tuple[str, ...] = ()


def moved_there(
    usable: Sequence[Prepared],
    layout: SiteLayout,
    models: SiteModels,
    to: tuple[float, float],
    procedure: int,
    inputs: InputUncertainties,
) -> list[AtConditions]:
    """Each curve translated by procedure 1, 2 or 4 to irradiance [W/m²] and temperature [°C].

    Raises ValueError with one sentence where a trace has no datasheet to take factors from.
    """
    for one in usable:
        if one.missing:
            raise ValueError(f"{one.trace.source}: {one.missing[0]}")
    moved = translate_to(usable, models, procedure, to)
    cases = [uncertainty_case(one, layout, models) for one in usable]
    spreads = trace_uncertainties(cases, inputs, procedure, to)
    return [
        AtConditions(
            there.curve,
            there.key_points,
            spread.translated,
            there.procedure,
            (one.trace.source,),
        )
        for one, there, spread in zip(usable, moved, spreads, strict=True)
        if there is not None
    ]


def between(
    usable: Sequence[Prepared],
    layout: SiteLayout,
    models: SiteModels,
    to: tuple[float, float],
    inputs: InputUncertainties,
) -> AtConditions:
    """The curve there by procedure 3, between the device's own; no datasheet is needed.

    Raises ValueError with one sentence where the curves do not reach those conditions.
    """
    curves = [condition_curve(one) for one in usable]
    places, weights = curves_between(curves, *to)
    chosen = [curves[k] for k in places]
    found = interpolate(chosen, *to)
    points = translated_key_points(found)
    spread = None
    remarks = found.remarks
    if len(chosen) > 2:
        own = [usable[k] for k in places]
        cases = [uncertainty_case(one, layout, models) for one in own]
        spread = _expanded(
            points, _contributions(chosen, weights, own, to, inputs_of(cases, inputs))
        )
    else:
        remarks = (
            *remarks,
            "Of two curves the uncertainty is not told: they do not show how the power changes "
            "beside the line between their conditions. A third curve would.",
        )
    return AtConditions(
        Curve(*found.curve()),
        key_point_records({name: np.atleast_1d(value) for name, value in points.items()})[0],
        spread,
        found.procedure,
        tuple(usable[k].trace.source for k in places),
        remarks,
    )


def _contributions(
    chosen: Sequence[ConditionCurve],
    weights: NDArray[np.float64],
    own: Sequence[Prepared],
    to: tuple[float, float],
    inputs: InputUncertainties,
) -> Mapping[str, Mapping[str, NDArray[np.float64]]]:
    """What each input does to each key point, k = 1.

    The curves were read by the same sensors, so that their errors are common to all of them;
    noise is each sweep's own.
    """
    points = translated_key_points(interpolate(chosen, *to))
    more_light = [
        replace(one, poa_global=one.poa_global * (1.0 + float(share)))
        for one, share in zip(chosen, np.atleast_1d(inputs.irradiance), strict=True)
    ]
    warmer = [
        replace(one, temperature_cell=one.temperature_cell + float(kelvin))
        for one, kelvin in zip(chosen, np.atleast_1d(inputs.temperature_cell), strict=True)
    ]
    own_part = _of_interpolation(chosen, weights, to)
    noise = {
        name: np.asarray(_noise(own, weights, name)) * points[name] for name in KEY_POINT_NAMES
    }
    return {
        "irradiance": _change(points, interpolate(more_light, *to)),
        "temperature_cell": _change(points, interpolate(warmer, *to)),
        "voltage": scale_contribution(points, "voltage", inputs.voltage),
        "current": scale_contribution(points, "current", inputs.current),
        "procedure": {name: own_part[name] * one for name, one in points.items()},
        "reading": noise,
    }


def _of_interpolation(
    chosen: Sequence[ConditionCurve], weights: NDArray[np.float64], to: tuple[float, float]
) -> dict[str, float]:
    """Relative standard uncertainty of each key point by the interpolation itself."""
    reach = float(np.abs(weights).sum())
    poa, cell = np.array([(one.poa_global, one.temperature_cell) for one in chosen]).T
    left_out = CURRENT_BY_WARMTH * float(weights @ ((poa - to[0]) * (cell - to[1]))) / to[0]
    return {
        name: math.hypot(one * reach, left_out) if name in CURRENTS else one * reach
        for name, one in INTERPOLATION.items()
    }


def _noise(own: Sequence[Prepared], weights: NDArray[np.float64], name: str) -> float:
    """Relative standard uncertainty of a key point by the noise of the sweeps."""
    values = np.array([getattr(one.measured.values, name) for one in own])
    spread = np.array([getattr(one.measured.standard_uncertainty, name) for one in own])
    relative = np.where(np.isfinite(spread), spread / values, 0.0)
    return float(np.hypot.reduce(weights * relative))


def _change(
    points: Mapping[str, NDArray[np.float64]], varied: TranslatedCurve
) -> dict[str, NDArray[np.float64]]:
    there = translated_key_points(varied)
    return {name: there[name] - points[name] for name in points}


def _expanded(
    points: Mapping[str, NDArray[np.float64]],
    contributions: Mapping[str, Mapping[str, NDArray[np.float64]]],
) -> KeyPoints:
    made = KeyPointUncertainty(points, contributions)
    return KeyPoints(*(float(made.expanded(name)) for name in KEY_POINT_NAMES))
