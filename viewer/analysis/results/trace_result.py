"""What is known about one trace after analysis, as frozen data."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.results.trace_uncertainty import TraceUncertainty
from viewer.physics.measured_sweep.key_points import KeyPoints, MeasuredKeyPoints
from viewer.physics.single_diode import DiodeParameters
from viewer.site_data.iv_trace import Trace

KINDS: tuple[str, ...] = (
    "low_current",
    "low_voltage",
    "step",
    "slope_near_isc",
    "slope_near_voc",
    "rounded_knee",
    "inputs_suspect",
)
CAUSES: tuple[str, ...] = (
    "soiling",
    "shading",
    "cell_fault",
    "bypass_short",
    "module_missing",
    "series_resistance",
    "shunt",
    "module_mismatch",
    "degradation",
    "irradiance_input",
    "temperature_input",
    "none",
)
WRONG_READINGS = frozenset({"irradiance_input", "temperature_input"})
"""Causes that lie in a reading, not in the string: they cost nothing."""

IRRADIANCE_DRIFT = "irradiance drift"
"""The check of the irradiance at the end of a sweep against that at its start."""


@dataclass(frozen=True)
class Check:
    """One test-condition check: its name, whether it passed, and the numbers in words."""

    check: str
    passed: bool
    detail: str


@dataclass(frozen=True)
class UsedConditions:
    """The conditions the prediction used, how they were found, and the checks on them."""

    poa_global: float | None
    temperature_cell: float | None
    temperature_from: str = ""
    """In words: which reading the cell temperature comes from."""
    irradiance_from: str = ""
    checks: tuple[Check, ...] = ()
    effective_irradiance: float | None = None
    """What the model is given: `poa_global`, with the rear's share of a bifacial module."""
    incidence_angle: float | None = None
    """Degrees between the sun and the modules' normal."""
    sun_elevation: float | None = None
    temperature_from_voc: float | None = None
    """Equivalent cell temperature (IEC 60904-5) [°C], used or not."""
    irradiance_from_isc: float | None = None
    """Irradiance that the measured Isc stands for [W/m²], used or not."""
    curve_decides: tuple[str, ...] = ()
    """Which of poa_global, temperature_cell were taken from the curve itself."""
    irradiance_source: str = ""
    """One of `condition_sources.IRRADIANCE_SOURCES`."""
    temperature_source: str = ""
    """One of `condition_sources.TEMPERATURE_SOURCES`."""
    set_aside: tuple[str, ...] = ()
    """One sentence for each reading that cannot be and was not used."""
    rear_unknown: bool = False
    """The module is bifacial and its rear irradiance was not recorded: with the light from behind
    left out of the irradiance, power ratio and values at STC come out too high."""


@dataclass(frozen=True)
class Signature:
    """Something the curve's shape shows; `kind` is one of KINDS, `size` in `unit`."""

    kind: str
    size: float
    unit: str
    text: str
    """One sentence for people."""
    details: dict[str, float | int | str] = field(default_factory=dict)
    """Further keys of the JSON contract, such as current_fraction and bypass_groups."""

    @property
    def loss(self) -> float:
        """What it costs at maximum power, W; 0 where that is not known."""
        return float(self.details.get("loss", 0.0))


@dataclass(frozen=True)
class CandidateCause:
    """What may have produced the signatures; `cause` is one of CAUSES."""

    cause: str
    likelihood: float
    evidence: str
    next_check: str
    against: str = ""


@dataclass(frozen=True, eq=False)
class Curve:
    """Points of a curve in order of rising voltage [V], with current [A]."""

    voltage: NDArray[np.float64]
    current: NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class TraceResult:
    """All results of one trace; None where what they need is missing (said in `missing`)."""

    trace: Trace
    measured: KeyPoints
    measured_curve: Curve
    """The sweep cleaned and in order."""
    conditions: UsedConditions
    predicted: KeyPoints | None = None
    predicted_curve: Curve | None = None
    translated: KeyPoints | None = None
    translated_curve: Curve | None = None
    translation: str = ""
    """The IEC 60891 procedure that was used, in words."""
    power_ratio: float | None = None
    power_ratio_uncertainty: float | None = None
    """Expanded, k = 2."""
    signatures: tuple[Signature, ...] = ()
    candidate_causes: tuple[CandidateCause, ...] = ()
    """Of the likely ones the costliest first, then the others."""
    uncertainty: TraceUncertainty | None = None
    """Of the key points, expanded (k = 2), and the budget of the power ratio's."""
    sweep: MeasuredKeyPoints | None = None
    """Slopes, quality and power maxima of the sweep itself, and what it could not tell."""
    model_at_stc: DiodeParameters | None = None
    """Of the whole string with its cable; see `prediction.predicted_at_stc`."""
    missing: tuple[str, ...] = ()
    """One sentence for each thing that could not be computed, saying what it needs."""

    @property
    def fault_likelihood(self) -> float:
        """How likely the likeliest of the candidate causes is, 0 where there is none."""
        return max((c.likelihood for c in self.candidate_causes if c.cause != "none"), default=0.0)
