"""How bad a scenario would have to be to explain a measured curve.

Severity and extent are searched for; irradiance and temperature may be a little wrong, so the
simulated curve may be scaled in current and in voltage within their uncertainty. Distances are
taken at right angles to the curve, so that its steep end does not outweigh all else.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

from viewer.physics.cell_string.cell_fields import StringMakeup
from viewer.physics.cell_string.scenario import Knob, Scenario
from viewer.physics.cell_string.simulate import SimulatedString, held_settings, marks, simulate

Array = NDArray[np.float64]

CURRENT_SIGMA = 0.02
"""Of the current scale: irradiance reading, spectrum, tolerance (common practice, no source)."""

VOLTAGE_SIGMA = 0.006
"""Of the voltage scale: about 2 K of cell temperature (common practice, no source)."""

POINT_SIGMA = 0.006
"""Of a point, as a share of the curve's size: noise and what no scenario explains. Healthy strings
whose modules differ by half a percent were seen to lie 0.001 to 0.002 from their prediction."""

EFFECTIVE_POINTS = 60
"""Neighbouring points tell the same story: the fit weighs as many, however many there are."""

KNOB_PRICE = float(np.log(EFFECTIVE_POINTS))
"""What a further quantity to choose must better the cost by (G. Schwarz, Annals of Statistics 6
(1978) 461-464)."""

CURVE_POINTS = 120
SEVERITIES_TRIED = 6
EXTENTS_TRIED = 7


@dataclass(frozen=True, eq=False)
class MeasuredCurve:
    """A measured curve of one string: voltage [V] rising, current [A], and the conditions.

    poa_global [W/m²] and temperature_cell [°C] as recorded, both maybe wrong.
    """

    voltage: Array
    current: Array
    poa_global: float
    temperature_cell: float


@dataclass(frozen=True, eq=False)
class SeverityFit:
    """The scenario at the setting that explains the curve best.

    misfit: root mean square distance as a share of the curve's size; cost: how unlikely the
    remaining distances and scalings are, plus a price for each knob, lower is better;
    current_factor and voltage_factor scale the simulated curve onto the measured one.
    """

    scenario: Scenario
    severity: float
    extent: float | None
    misfit: float
    cost: float
    current_factor: float
    voltage_factor: float
    simulated: SimulatedString

    @property
    def voltage(self) -> Array:
        """Voltage [V] of the fitted curve, to lay over the measured one."""
        return self.simulated.voltage * self.voltage_factor

    @property
    def current(self) -> Array:
        """Current [A] of the fitted curve."""
        return self.simulated.current * self.current_factor


Trial = Callable[[float, float | None], SeverityFit]


def fit_severity(scenario: Scenario, measured: MeasuredCurve, makeup: StringMakeup) -> SeverityFit:
    """The severity, and the extent if it has one, at which the scenario explains the curve best.

    Raises ValueError for a curve of fewer than five points or without light.
    """
    _check(measured)
    tried: dict[tuple[float, float | None], SeverityFit] = {}

    def at(severity: float, extent: float | None) -> SeverityFit:
        settings = held_settings(scenario, severity, extent)
        if settings not in tried:
            tried[settings] = _compared(scenario, *settings, measured, makeup)
        return tried[settings]

    severities = _settings(scenario.severity, SEVERITIES_TRIED)
    extents: list[float | None] = [None]
    if scenario.extent is not None:
        extents = list(_settings(scenario.extent, EXTENTS_TRIED))
    for extent in extents:
        for severity in severities:
            at(severity, extent)
    best = _cheapest(tried.values())
    for _ in range(2):
        _refine_extent(scenario, at, best)
        best = _cheapest(tried.values())
        _refine_severity(scenario, at, best)
        best = _cheapest(tried.values())
    return best


def ranked(fits: Iterable[SeverityFit]) -> tuple[SeverityFit, ...]:
    """The likeliest explanation first."""
    return tuple(sorted(fits, key=lambda fit: fit.cost))


def _check(measured: MeasuredCurve) -> None:
    if len(measured.voltage) < 5:
        raise ValueError("a curve of at least five points is needed to fit a scenario to it")
    if not measured.poa_global > 0:
        raise ValueError("the irradiance of the curve is needed to fit a scenario to it")


def _cheapest(fits: Iterable[SeverityFit]) -> SeverityFit:
    return min(fits, key=lambda fit: fit.cost)


def _settings(knob: Knob, count: int) -> list[float]:
    """Settings over the knob's range; a knob that counts is tried closer at its low end."""
    if knob.whole and knob.lowest > 0:
        spaced = np.geomspace(knob.lowest, knob.highest, count)
        return sorted({knob.held(value) for value in spaced})
    return [knob.at_share(share) for share in np.linspace(0.0, 1.0, count)]


def _refine_severity(scenario: Scenario, at: Trial, best: SeverityFit) -> None:
    """Try settings between the neighbours of the best severity."""
    knob = scenario.severity
    if knob.whole:
        for severity in range(int(best.severity) - 2, int(best.severity) + 3):
            at(severity, best.extent)
        return
    middle, reach = knob.share_of(best.severity), 1.0 / (SEVERITIES_TRIED - 1)
    minimize_scalar(
        lambda share: at(knob.at_share(share), best.extent).cost,
        bounds=(max(middle - reach, 0.0), min(middle + reach, 1.0)),
        method="bounded",
        options={"xatol": 2e-3},
    )


def _refine_extent(scenario: Scenario, at: Trial, best: SeverityFit) -> None:
    """Try extents beside the best one, at its severity."""
    knob = scenario.extent
    if knob is None or best.extent is None:
        return
    if knob.whole:
        others = range(int(best.extent * 0.6), int(best.extent * 1.6) + 2)
        beside = [float(one) for one in others][:20]
    else:
        step = (knob.highest - knob.lowest) / (EXTENTS_TRIED - 1)
        beside = [best.extent + step * share for share in (-0.6, -0.3, 0.3, 0.6)]
    for extent in beside:
        at(best.severity, extent)


def _compared(
    scenario: Scenario,
    severity: float,
    extent: float | None,
    measured: MeasuredCurve,
    makeup: StringMakeup,
) -> SeverityFit:
    """The scenario at those settings, scaled within what the readings leave open."""
    left = marks(scenario, severity, extent, makeup)
    sim = simulate(
        scenario,
        severity,
        measured.poa_global / left.irradiance_reading,
        measured.temperature_cell - left.temperature_reading,
        makeup,
        extent,
        CURVE_POINTS,
    )
    misses, columns, weights = _distances(sim, measured)
    spread = np.array([CURRENT_SIGMA, VOLTAGE_SIGMA])
    scaled = columns * (spread * np.sqrt(weights)[:, None] / POINT_SIGMA)
    target = misses * np.sqrt(weights) / POINT_SIGMA
    step = np.linalg.solve(scaled.T @ scaled + np.eye(2), scaled.T @ target)
    rest = target - scaled @ step
    knobs = 0 if scenario.cause == "none" else 1 if scenario.extent is None else 2
    misfit = POINT_SIGMA * float(np.sqrt(rest @ rest / EFFECTIVE_POINTS))
    cost = float(rest @ rest + step @ step) + KNOB_PRICE * knobs
    factors = 1.0 + step * spread
    return SeverityFit(
        scenario, severity, extent, misfit, cost, float(factors[0]), float(factors[1]), sim
    )


def _distances(sim: SimulatedString, measured: MeasuredCurve) -> tuple[Array, Array, Array]:
    """Distance of each point from the simulated curve, what scalings do to it, its weight."""
    v_oc, i_sc = float(measured.voltage[-1]), max(float(measured.current.max()), 1e-9)
    voltage, current = _beyond_open_circuit(sim)
    slope = np.gradient(current, voltage)
    at = np.clip(measured.voltage, voltage[0], voltage[-1])
    expected, fall = np.interp(at, voltage, current), np.interp(at, voltage, slope)
    aslant = i_sc * np.hypot(1.0, fall * v_oc / i_sc)
    misses = (measured.current - expected) / aslant
    columns = np.stack([expected, -at * fall], axis=1) / aslant[:, None]
    lengths = np.hypot(np.gradient(measured.voltage) / v_oc, np.gradient(measured.current) / i_sc)
    return misses, columns, EFFECTIVE_POINTS * lengths / lengths.sum()


def _beyond_open_circuit(sim: SimulatedString) -> tuple[Array, Array]:
    """The curve with its end drawn on below 0 A, and no two points at one voltage."""
    voltage, keep = np.unique(sim.voltage, return_index=True)
    current = sim.current[keep]
    further = voltage[-1] * 1.05
    slope = (current[-1] - current[-2]) / (voltage[-1] - voltage[-2])
    return (
        np.append(voltage, further),
        np.append(current, current[-1] + slope * (further - voltage[-1])),
    )
