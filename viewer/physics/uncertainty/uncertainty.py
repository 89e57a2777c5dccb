"""What is not known exactly, and how it adds up (JCGM 100:2008, the GUM).

Inputs are standard uncertainties (k = 1). A result's standard uncertainty is the root of the
sum of squares of each independent input's contribution, that is its sensitivity times the
input's standard uncertainty; the expanded uncertainty is twice that (k = 2, about 95 %).
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Numeric = float | Array

COVERAGE = 2.0
"""Coverage factor k of every expanded uncertainty."""

NO_SOURCE = "common practice, no source"


def decimals_by(expanded: float) -> int:
    """Decimals of a value whose expanded uncertainty is `expanded`, above 0: the uncertainty is
    printed with two significant digits and the value to its last place (JCGM 100:2008, 7.2.6)."""
    exponent = int(f"{expanded:.1e}".partition("e")[2])
    return max(0, 1 - exponent)


@dataclass(frozen=True)
class InputUncertainties:
    """Standard uncertainties (k = 1) of everything a result depends on; all can be edited.

    Fractions of the value, but temperatures [K]. `irradiance` and `temperature_cell` are those
    of a sensor's reading and may be arrays, one value a trace; the ones beside them hold when
    the value comes from elsewhere. The three of `spread` are standard deviations from module
    to module; a string of N modules shares them down by the root of N.
    """

    irradiance: Numeric = 0.0125
    irradiance_by_reference_cell: float = 0.01
    irradiance_by_isc: float = 0.012
    temperature_cell: Numeric = 1.0
    temperature_by_air: float = 2.5
    temperature_by_voc: float = 2.0
    datasheet_current: float = 0.01
    datasheet_voltage: float = 0.005
    datasheet_fill_factor: float = 0.01
    spread_current: float = 0.005
    spread_voltage: float = 0.003
    spread_fill_factor: float = 0.005
    model: Numeric = 0.007
    model_thin_film: float = 0.03
    voltage: float = 0.0025
    current: float = 0.0025
    alpha_sc: float = 0.2
    beta_voc: float = 0.04
    internal_resistance: float = 0.15
    kappa: float = 0.3
    procedure: Numeric = 0.007
    procedure_thin_film: float = 0.03


SOURCES: MappingProxyType[str, str] = MappingProxyType(
    {
        "irradiance": "±2.5 % (k = 2) of a calibrated cell or pyranometer in the field; "
        + NO_SOURCE,
        "irradiance_by_reference_cell": "±2 % (k = 2), same spectrum and optics as the modules; "
        + NO_SOURCE,
        "irradiance_by_isc": "datasheet tolerance of Isc with the current's accuracy",
        "temperature_cell": "±2 K (k = 2) of one sensor for a whole string; " + NO_SOURCE,
        "temperature_by_air": "±5 K (k = 2) of King, Boyson and Kratochvill, SAND2004-3535",
        "temperature_by_voc": "datasheet tolerance and accuracy of Voc over beta_voc",
        "datasheet_current": "with voltage and fill factor ±3 % (k = 2) of Pmp, the power "
        "tolerance most datasheets print",
        "datasheet_voltage": "see datasheet_current",
        "datasheet_fill_factor": "see datasheet_current",
        "spread_current": "modules of one power class; " + NO_SOURCE,
        "spread_voltage": "modules of one power class; " + NO_SOURCE,
        "spread_fill_factor": "modules of one power class; " + NO_SOURCE,
        "model": "maximum power from 400 to 1100 W/m² of four crystalline modules of the NREL "
        "mPERT data set: root mean squares 0.6 to 0.9 %",
        "model_thin_film": "the same for its CdTe and CIGS modules: 2.5 and 2.9 %",
        "voltage": "±0.5 % (k = 2) of reading, typical of field instruments; " + NO_SOURCE,
        "current": "±0.5 % (k = 2) of reading, typical of field instruments; " + NO_SOURCE,
        "alpha_sc": "datasheet coefficients; " + NO_SOURCE,
        "beta_voc": "datasheet coefficients; " + NO_SOURCE,
        "internal_resistance": "taken from a model rather than from curves; " + NO_SOURCE,
        "kappa": "taken from a model rather than from curves; " + NO_SOURCE,
        "procedure": "maximum power of the same four modules moved to STC by procedure 2: root "
        "mean squares 0.6 to 0.8 %; grows with the distance moved",
        "procedure_thin_film": "the same for the CdTe and CIGS modules: 2.5 % each",
    }
)

INPUT_NAMES: tuple[str, ...] = tuple(field.name for field in fields(InputUncertainties))

SCALES: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "current": MappingProxyType({"i_sc": 1.0, "i_mp": 1.0, "p_mp": 1.0}),
        "voltage": MappingProxyType({"v_oc": 1.0, "v_mp": 1.0, "p_mp": 1.0}),
        "fill_factor": MappingProxyType(
            {"i_mp": 0.5, "v_mp": 0.5, "p_mp": 1.0, "fill_factor": 1.0}
        ),
    }
)
"""Relative change of each key point with the scale of current, of voltage, or of fill factor."""


@dataclass(frozen=True, eq=False)
class KeyPointUncertainty:
    """Contribution of each input to each key point, in the key point's unit, k = 1.

    contributions[input][key point] keeps the sign of the sensitivity; arrays of one shape.
    """

    values: Mapping[str, Array]
    contributions: Mapping[str, Mapping[str, Array]]

    def standard(self, name: str) -> Array:
        """Standard uncertainty (k = 1) of the key point `name`."""
        zero = np.zeros(np.shape(self.values[name]))
        parts = [part[name] for part in self.contributions.values() if name in part]
        return np.sqrt(sum((np.square(part) for part in parts), start=zero))

    def expanded(self, name: str) -> Array:
        """Expanded uncertainty (k = 2) of the key point `name`."""
        return COVERAGE * self.standard(name)

    def relative(self, name: str) -> Array:
        """Standard uncertainty over the value, as a fraction."""
        value = np.abs(np.asarray(self.values[name], dtype=float))
        value = np.where(np.isfinite(value) & (value > 0.0), value, np.nan)
        return self.standard(name) / value


def scale_contribution(values: Mapping[str, Array], scale: str, uncertainty: Numeric) -> dict:
    """What a relative uncertainty of one of SCALES does to each key point."""
    return {
        name: np.asarray(values[name]) * share * uncertainty
        for name, share in SCALES[scale].items()
    }


def ratio_standard(
    measured: KeyPointUncertainty, predicted: KeyPointUncertainty, name: str = "p_mp"
) -> Array:
    """Standard uncertainty (k = 1) of measured over predicted, their inputs being independent."""
    below = np.asarray(predicted.values[name], dtype=float)
    ratio = np.asarray(measured.values[name]) / np.where(below > 0.0, below, np.nan)
    return ratio * np.hypot(measured.relative(name), predicted.relative(name))


def ratio_expanded(
    measured: KeyPointUncertainty, predicted: KeyPointUncertainty, name: str = "p_mp"
) -> Array:
    """Expanded uncertainty (k = 2) of measured over predicted."""
    return COVERAGE * ratio_standard(measured, predicted, name)
