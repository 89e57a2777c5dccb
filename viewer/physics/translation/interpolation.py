"""Procedure 3 of IEC 60891:2021: a curve between measured ones, no correction factors needed.

Two points belong together when they lie equally far below their curves' short-circuit
currents. With weights w that add up to one,

    G3 = sum w G,  T3 = sum w T,  I3 = sum w Isc - d,  V3 = sum w V(Isc - d)

for every distance d below short circuit. The standard takes two curves at a time,
V3 = V1 + a (V2 - V1) and I3 = I1 + a (I2 - I1) with I2 - I1 = Isc2 - Isc1, and reaches any
condition from three curves in two such steps; both steps together are the sum above.

Limits without a source are judgement.
"""

from collections.abc import Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF
from viewer.physics.nomenclature import with_minus
from viewer.physics.translation.condition_curve import ConditionCurve
from viewer.physics.translation.curve_ends import beyond_open_circuit
from viewer.physics.translation.procedures import PROCEDURES, TranslatedCurve, finished

Array = NDArray[np.float64]

OFF_THE_LINE = 0.01
"""Two curves reach conditions within this share of irradiance, and a kelvin, of their line."""

KELVIN_FOR_IRRADIANCE = 10.0
"""A kelvin counts as much as this many W/m² when nearness is judged."""

CURRENT_BY_WARMTH = 0.0005
"""1/K, how much more the current goes with irradiance in warmer cells, of a usual module."""

FAR_OUTSIDE = 0.01
"""Share of the current up to which a curve outside the measured ones is given. Sums of curves leave
out what goes with irradiance and temperature together, and far outside that is all there is: at
100 W/m² and -40 °C, from curves at 450 to 1010 W/m² and 28 to 61 °C, a third of the current. Up to
this limit 99 % of 1,534 powers between three to six of pvlib's curves at random were within 1.2 %;
beyond it one was 140 times too large."""

POINTS = 400


def interpolate(
    curves: Sequence[ConditionCurve],
    to_poa_global: float = IRRADIANCE_REF,
    to_temperature_cell: float = TEMPERATURE_REF,
    resistance_series: float = 0.0,
) -> TranslatedCurve:
    """The curve at the asked conditions, from two curves or from the best three of many.

    resistance_series [ohm] only shapes the stretch beyond Voc of curves that end there.
    Raises ValueError with one sentence when the conditions cannot be reached: fewer than two
    curves, two whose line misses them, more that all lie on one line, or conditions far outside.
    """
    places, weights = curves_between(curves, to_poa_global, to_temperature_cell)
    chosen = [curves[k] for k in places]
    i_sc = np.array([c.i_sc for c in chosen])
    short = float(weights @ i_sc)
    below = np.linspace(0.0, 1.0, POINTS)
    below = short * (1.0 - (1.0 - below) ** 2)
    voltage = np.zeros(POINTS)
    for one, weight, own_short in zip(chosen, weights, i_sc, strict=True):
        voltage += weight * _voltage_below(one, own_short, below, resistance_series)
    described = ", ".join(f"{c.poa_global:.0f} W/m² {c.temperature_cell:.1f} °C" for c in chosen)
    found = finished(
        voltage,
        short - below,
        np.asarray(float(to_poa_global)),
        np.asarray(float(to_temperature_cell)),
        f"{PROCEDURES[3]}; from curves at {described}",
    )
    if np.any(weights < -1e-6):
        remark = "The asked conditions lie outside those measured, so this is an extrapolation."
        return TranslatedCurve(**{**vars(found), "remarks": (remark,)})
    return found


def _voltage_below(one: ConditionCurve, i_sc: float, below: Array, rs: float) -> Array:
    """Voltage [V] of a curve at currents `below` its Isc, drawn on past open circuit."""
    reach = np.asarray(max(float(below.max()) - i_sc, 0.0) * 1.02)
    more_v, more_i = beyond_open_circuit(
        one.voltage, one.current, np.asarray(i_sc), np.asarray(rs), reach
    )
    longer = ConditionCurve(
        np.concatenate([one.voltage, more_v]),
        np.concatenate([one.current, more_i]),
        one.poa_global,
        one.temperature_cell,
    )
    return longer.voltage_at(i_sc - below)


def curves_between(
    curves: Sequence[ConditionCurve], poa: float, temperature: float
) -> tuple[tuple[int, ...], Array]:
    """The places of the two or three curves that `interpolate` takes, and their weights.

    Raises ValueError as that does.
    """
    if len(curves) < 2:
        raise ValueError("Procedure 3 needs at least two measured curves of the same device.")
    place = np.array([[c.poa_global, KELVIN_FOR_IRRADIANCE * c.temperature_cell] for c in curves])
    target = np.array([poa, KELVIN_FOR_IRRADIANCE * temperature])
    if len(curves) == 2:
        places: tuple[int, ...] = (0, 1)
        weights = _on_the_line(place, target)
    else:
        places, weights = _best_three(place, target)
    ways = place[list(places)] - target
    crossed = float(weights @ (ways[:, 0] * ways[:, 1])) / KELVIN_FOR_IRRADIANCE
    if np.any(weights < 0.0) and CURRENT_BY_WARMTH * abs(crossed) > FAR_OUTSIDE * poa:
        raise ValueError(
            f"{poa:.0f} W/m² and {with_minus(f'{temperature:.1f}')} °C lie too far outside the "
            "conditions of the curves for an extrapolation; trace nearer to them."
        )
    return places, weights


def _on_the_line(place: Array, target: Array) -> Array:
    way = place[1] - place[0]
    length = float(way @ way)
    share = float((target - place[0]) @ way) / length if length > 0.0 else 0.0
    missed = target - place[0] - share * way
    if abs(missed[0]) > OFF_THE_LINE * target[0] or abs(missed[1]) > KELVIN_FOR_IRRADIANCE:
        raise ValueError(
            "Two curves reach only conditions on the line between theirs; "
            f"the nearest is {target[0] - missed[0]:.0f} W/m² and "
            f"{(target[1] - missed[1]) / KELVIN_FOR_IRRADIANCE:.1f} °C. Give a third curve."
        )
    return np.array([1.0 - share, share])


def _best_three(place: Array, target: Array) -> tuple[tuple[int, ...], Array]:
    """Three curves around the target that lie nearest to it, or that extrapolate least."""
    best: tuple[float, tuple[int, ...], Array] | None = None
    for three in combinations(range(len(place)), 3):
        sides = np.vstack([place[list(three)].T / IRRADIANCE_REF, np.ones(3)])
        if abs(np.linalg.det(sides)) < 1e-4:
            continue
        weights = np.linalg.solve(sides, np.append(target / IRRADIANCE_REF, 1.0))
        outside = float(np.abs(weights).sum() - 1.0)
        far = float(np.abs(weights) @ np.hypot(*(place[list(three)] - target).T))
        score = 1e6 * round(outside, 6) + far
        if best is None or score < best[0]:
            best = (score, three, weights)
    if best is None:
        raise ValueError("All measured curves lie on one line of irradiance and temperature.")
    return best[1], best[2]
