"""What one sweep was read to show, as frozen data, and what it was read with."""

from dataclasses import dataclass, field

from viewer.analysis.results.trace_result import Signature
from viewer.analysis.signatures.voltage_reading import VoltageReading
from viewer.physics.conditions import IRRADIANCE_REF
from viewer.physics.measured_sweep.key_points import KeyPoints

USUAL_SUNS = 0.75
"""Irradiance over 1000 W/m² where it is not told."""


@dataclass(frozen=True)
class InputUncertainty:
    """Standard uncertainties of what the prediction rests on (k = 1).

    irradiance, module_current, module_voltage, prediction_voltage (at standard conditions unless
    told otherwise): relative; temperature [K];
    series and leak: in units of v_oc / i_sc and of i_sc at v_oc; voltage_per_kelvin: relative
    change of v_oc [1/K]. `coverage` is how many of them a deviation must exceed to be reported.
    """

    irradiance: float = 0.0175
    temperature: float = 1.0
    module_current: float = 0.006
    module_voltage: float = 0.003
    prediction_voltage: float = 0.0018
    series: float = 0.0062
    leak: float = 0.008
    voltage_per_kelvin: float = -0.0029
    coverage: float = 2.7


def part_of_string(bypassed: bool) -> str:
    """What a string's parts are called: a module without bypass diodes is one itself."""
    return "bypass group" if bypassed else "module"


@dataclass(frozen=True)
class Situation:
    """What is known beside the sweep and its prediction.

    `bypass_diodes` of one module, or 1 where it has none and is not `bypassed`, `parallel_paths` 2
    for half-cut modules, `irradiance` [W/m²] and `predicted_p_mp` [W] of the prediction, None where
    they are not told.
    """

    key_points: KeyPoints
    uncertainty: InputUncertainty
    bypass_diodes: int = 3
    parallel_paths: int = 1
    irradiance: float | None = None
    predicted_p_mp: float | None = None
    bypassed: bool = True

    @property
    def part(self) -> str:
        return part_of_string(self.bypassed)

    @property
    def suns(self) -> float:
        """Irradiance over 1000 W/m²."""
        return self.irradiance / IRRADIANCE_REF if self.irradiance else USUAL_SUNS


@dataclass(frozen=True)
class StairReading:
    """One stair: groups limited to `current_fraction` of the string's short-circuit current.

    `limited_cells` is the share of the groups' cells that is limited, as far as the stair's
    tilt tells; near 1 a whole group, small a single cell or few.
    """

    bypass_groups: int
    current_fraction: float
    voltage_span: float
    limited_cells: float
    loss: float
    """W at the maximum power point."""
    likely_groups: tuple[int, int] | None = None
    """Fewest and most bypass groups that are likely; None where that is not known."""


@dataclass(frozen=True, eq=False)
class SignatureReading:
    """Signatures of one sweep and the numbers behind them.

    current_scale: measured over predicted photocurrent; voltage: see VoltageReading;
    current_spread: standard deviation of the groups' currents, relative. Uncertainties are
    standard uncertainties. `losses` holds W for each kind; `p_mp` and `predicted_p_mp` [W] are
    those of the fitted and predicted curves, `predicted_v_oc` [V] that of the predicted.
    `roughness` is the residual over the sweep's own noise (1: all explained).
    """

    signatures: tuple[Signature, ...]
    bypass_groups: int
    current_scale: float
    current_uncertainty: float
    voltage: VoltageReading
    current_spread: float
    stairs: tuple[StairReading, ...]
    losses: dict[str, float]
    p_mp: float
    predicted_p_mp: float
    roughness: float
    predicted_v_oc: float = float("nan")
    bypass_diodes: int = 3
    bypassed: bool = True
    """Whether the modules have bypass diodes; without them each is counted as one group."""
    remarks: tuple[str, ...] = field(default=())

    @property
    def part(self) -> str:
        return part_of_string(self.bypassed)

    def of_kind(self, kind: str) -> tuple[Signature, ...]:
        return tuple(s for s in self.signatures if s.kind == kind)
