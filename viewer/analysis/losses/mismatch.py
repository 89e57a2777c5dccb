"""What a combiner loses because its strings are unequal, and what repairs would bring.

Strings in parallel share one voltage, so the combiner's curve is the sum of the strings' currents
at each voltage. Its maximum is less than the sum of the strings' own maxima; the difference is
the mismatch loss. The curves must belong to one set of conditions (translated, or measured
within minutes).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.prediction.prediction import predicted_at_stc
from viewer.analysis.results.trace_result import Curve, TraceResult

Array = NDArray[np.float64]

GRID_POINTS = 600


@dataclass(frozen=True, eq=False)
class StringCurve:
    """A string's measured curve and, if known, the curve expected of it when it is sound."""

    string: str
    measured: Curve
    expected: Curve | None = None


@dataclass(frozen=True)
class StringShare:
    """One string in its combiner, powers in W.

    own: its maximum alone; at_common_voltage: what it yields at the combiner's maximum;
    mismatch: the difference; repair_gain: what the combiner would yield more if this string
    alone were as expected.
    """

    string: str
    own: float
    at_common_voltage: float
    mismatch: float
    repair_gain: float


@dataclass(frozen=True, eq=False)
class CombinerMismatch:
    """The combiner's curve and its losses, powers in W.

    `worst_first` names the strings in the order in which repairing brings most, and
    `gain_of_worst[k]` is what repairing the first k of them brings together (0 for k = 0).
    `expected_from` says in words what a sound string was taken to be.
    """

    curve: Curve
    p_mp: float
    v_mp: float
    sum_of_maxima: float
    shares: tuple[StringShare, ...]
    worst_first: tuple[str, ...]
    gain_of_worst: tuple[float, ...]
    expected_from: str

    @property
    def loss(self) -> float:
        """Mismatch loss, W."""
        return self.sum_of_maxima - self.p_mp

    @property
    def loss_fraction(self) -> float:
        return self.loss / self.sum_of_maxima


def curves_of(results: Sequence[TraceResult]) -> tuple[list[StringCurve], str]:
    """Curves of a combiner's strings at one set of conditions, and which they are, in words.

    Translated to standard conditions where more than half are, the others being left out and named;
    else as measured, which is fair only if the light was the same; each beside what is predicted at
    those conditions. Sweeps that broke off before the open-circuit voltage have no place in a sum
    and are named.
    """
    early = [_name(one) for one in results if not math.isfinite(one.measured.v_oc)]
    if early:
        whole = [one for one in results if math.isfinite(one.measured.v_oc)]
        curves, basis = curves_of(whole)
        return curves, f"{basis}; without {', '.join(early)}, whose sweep ends too early"
    moved = [one for one in results if one.translated_curve is not None]
    if 2 * len(moved) > len(results):
        basis = "translated to standard test conditions"
        rest = [_name(one) for one in results if one.translated_curve is None]
        if rest:
            basis += f"; without {', '.join(rest)}, whose curve could not be translated"
        return [_translated(one) for one in moved], basis
    return [
        StringCurve(_name(one), one.measured_curve, one.predicted_curve) for one in results
    ], "as measured, each at its own irradiance and temperature"


def _translated(result: TraceResult) -> StringCurve:
    assert result.translated_curve is not None
    expected = predicted_at_stc(result)
    return StringCurve(_name(result), result.translated_curve, expected[0] if expected else None)


def _name(result: TraceResult) -> str:
    return result.trace.string or result.trace.source


def combiner_mismatch(strings: Sequence[StringCurve]) -> CombinerMismatch:
    """Mismatch of strings in parallel. Raises ValueError for none."""
    if not strings:
        raise ValueError("A combiner without traced strings has no curve.")
    expected, expected_from = _expected_curves(strings)
    top = max(float(one.voltage[-1]) for one in [*(s.measured for s in strings), *expected] if one)
    grid = np.linspace(0.0, top, GRID_POINTS)
    currents = np.stack([current_on(grid, s.measured) for s in strings])
    sound = np.stack([current_on(grid, curve) for curve in expected])
    total = currents.sum(axis=0)
    p_mp, v_mp, _ = _peak(grid, total)
    own = np.array([_peak(grid, row)[0] for row in currents])
    at_common = np.array([np.interp(v_mp, grid, row) for row in currents]) * v_mp
    single = np.array([_peak(grid, total + sound[k] - currents[k])[0] for k in range(len(strings))])
    order, gains = _repairs(grid, currents, sound, p_mp)
    shares = tuple(
        StringShare(
            s.string,
            float(own[k]),
            float(at_common[k]),
            float(own[k] - at_common[k]),
            float(single[k] - p_mp),
        )
        for k, s in enumerate(strings)
    )
    return CombinerMismatch(
        Curve(grid, total),
        p_mp,
        v_mp,
        float(own.sum()),
        shares,
        tuple(strings[k].string for k in order),
        gains,
        expected_from,
    )


def current_on(grid: Array, curve: Curve) -> Array:
    """The curve's current on `grid` [V]; beyond its ends the end's slope goes on.

    Above its open-circuit voltage a string takes current backwards from the others (without
    blocking diodes), as its curve continued says.
    """
    voltage, current = curve.voltage, curve.current
    inside = np.interp(grid, voltage, current)
    last = min(4, voltage.size - 1)
    run = max(float(voltage[-1] - voltage[-1 - last]), 1e-9)
    slope = float(current[-1] - current[-1 - last]) / run
    beyond = current[-1] + slope * (grid - voltage[-1])
    return np.where(grid > voltage[-1], beyond, inside)


def _expected_curves(strings: Sequence[StringCurve]) -> tuple[list[Curve], str]:
    known = [s.expected for s in strings]
    if all(curve is not None for curve in known):
        said = "each string's prediction at these conditions"
        return [curve for curve in known if curve is not None], said
    powers = [float(np.max(s.measured.voltage * s.measured.current)) for s in strings]
    middle = strings[int(np.argsort(powers)[len(powers) // 2])]
    curves = [curve if curve is not None else middle.measured for curve in known]
    said = f"string {middle.string}, the middle one by power, where nothing is predicted"
    return curves, said if not any(known) else f"each string's prediction, or {said}"


def _peak(grid: Array, current: Array) -> tuple[float, float, int]:
    """Greatest power, its voltage and its place; a parabola through three points."""
    power = grid * current
    k = int(np.clip(np.argmax(power), 1, grid.size - 2))
    left, mid, right = power[k - 1 : k + 2]
    bend = left - 2.0 * mid + right
    offset = 0.0 if bend >= 0.0 else float(np.clip(0.5 * (left - right) / bend, -1.0, 1.0))
    voltage = float(grid[k] + offset * (grid[1] - grid[0]))
    return float(mid - 0.25 * (left - right) * offset), voltage, k


def _repairs(
    grid: Array, currents: Array, sound: Array, p_mp: float
) -> tuple[list[int], tuple[float, ...]]:
    """The order in which repairs bring most, one after another, and their gains together."""
    total = currents.sum(axis=0)
    left = list(range(currents.shape[0]))
    order: list[int] = []
    gains = [0.0]
    while left:
        change = sound[left] - currents[left]
        peaks = np.max(grid * (total + change), axis=1)
        best = int(np.argmax(peaks))
        total = total + change[best]
        order.append(left.pop(best))
        gains.append(_peak(grid, total)[0] - p_mp)
    return order, tuple(gains)
