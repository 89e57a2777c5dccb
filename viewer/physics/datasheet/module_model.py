"""How a module's five parameters move with irradiance and cell temperature.

With S = irradiance / 1000 W/m², T in kelvin, T0 = 298.15 K, k in eV/K:

    photocurrent       = S^l (photocurrent_ref + alpha_sc (T - T0))
    n                  = diode_factor_ref + diode_factor_slope (T - T0)
    nNsVth             = n cells_in_series k T
    saturation_current = saturation_current_ref S^s (T/T0)³ exp(Eg0/(m k T0) - Eg/(m k T))
                         (photocurrent_ref / saturation_current_ref)^(1 - diode_factor_ref/n),
                         Eg = Eg0 (1 + band_gap_slope (T - T0))
    1/resistance_shunt = (d + (1 - d) S) / resistance_shunt_ref
    resistance_series  = resistance_series_ref S^r

The exponents l (photocurrent_exponent), s (saturation_exponent) and r (series_exponent) are
1, 0 and 0 unless there is a reason: s lets the open-circuit voltage fall with irradiance as
another diode factor than the one of the knee would have it, r lets the fill factor do so.
d is dark_shunt_share, the part of the shunt conductance that is there without light.

m is the diode factor n when `activation_by_diode_factor` is set: a current that recombines with
diode factor n is activated with Eg/n, so that the open-circuit voltage tends to the band gap at
0 K (the form of A. Mermoud and T. Lejeune, Performance assessment of a simulation model for PV
modules of any available technology, 25th EU PVSEC, 2010; with a constant n it is pvlib's
`calcparams_pvsyst`). Otherwise m is 1, and with d = 0 and a constant n the equations are those
of W. De Soto, S. A. Klein and W. A. Beckman, Solar Energy 80 (2006) 78-88 (pvlib's
`calcparams_desoto`). The last factor leaves the open-circuit voltage at 1000 W/m² nearly as it
is when n drifts, so that Eg answers for the voltage and the drift for the knee.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF, kelvin
from viewer.physics.distinct import distinct
from viewer.physics.single_diode import DiodeParameters

Array = NDArray[np.float64]

BOLTZMANN = 8.617333262e-5
"""Boltzmann constant, eV/K (CODATA 2018)."""

T_REF = float(kelvin(TEMPERATURE_REF))
"""Reference temperature, K."""

DESOTO_BAND_GAP_SLOPE = -0.0002677
"""Relative change of the band gap of silicon, 1/K (De Soto 2006)."""


LEAST_SUNS = 1e-3
"""Below this share of 1000 W/m² saturation current and series resistance stay as they are."""


@dataclass(frozen=True, eq=False)
class ModuleModel:
    """Reference parameters of one module, or of many as arrays of one shape; build with `of`.

    photocurrent_ref, saturation_current_ref [A]; resistance_series_ref, resistance_shunt_ref
    [ohm]; diode_factor_ref [1]; cells_in_series [1]; alpha_sc [A/K]; band_gap [eV] at 25 °C;
    band_gap_slope [1/K, relative]; diode_factor_slope [1/K]; dark_shunt_share [0..1]; the three
    exponents [1] as in the module's docstring.
    """

    photocurrent_ref: Array
    saturation_current_ref: Array
    resistance_series_ref: Array
    resistance_shunt_ref: Array
    diode_factor_ref: Array
    cells_in_series: Array
    alpha_sc: Array
    band_gap: Array
    band_gap_slope: Array
    diode_factor_slope: Array
    dark_shunt_share: Array
    photocurrent_exponent: Array
    saturation_exponent: Array
    series_exponent: Array
    activation_by_diode_factor: NDArray[np.bool_]

    @classmethod
    def of(
        cls,
        reference: DiodeParameters,
        cells_in_series: ArrayLike,
        alpha_sc: ArrayLike,
        band_gap: ArrayLike,
        band_gap_slope: ArrayLike = 0.0,
        diode_factor_slope: ArrayLike = 0.0,
        dark_shunt_share: ArrayLike = 0.0,
        photocurrent_exponent: ArrayLike = 1.0,
        saturation_exponent: ArrayLike = 0.0,
        series_exponent: ArrayLike = 0.0,
        activation_by_diode_factor: ArrayLike = True,
    ) -> "ModuleModel":
        """From the five parameters at 1000 W/m² and 25 °C; everything broadcasts to one shape."""
        cells = np.asarray(cells_in_series, dtype=float)
        columns = (
            *reference.as_tuple()[:4],
            reference.nNsVth / (BOLTZMANN * T_REF * cells),
            cells,
            alpha_sc,
            band_gap,
            band_gap_slope,
            diode_factor_slope,
            dark_shunt_share,
            photocurrent_exponent,
            saturation_exponent,
            series_exponent,
        )
        activation, *arrays = np.broadcast_arrays(
            np.asarray(activation_by_diode_factor, dtype=bool),
            *(np.asarray(x, dtype=float) for x in columns),
        )
        named: dict[str, Any] = dict(zip(FIELDS, (*arrays, activation), strict=True))
        return cls(**named)

    @classmethod
    def of_each(cls, models: Sequence["ModuleModel"]) -> "ModuleModel":
        """One model that stands for those of many devices, (devices,): itself where all are the
        same one, and else an array of them. At least one; each of a single module.
        """
        kinds, which = distinct(models)
        if len(kinds) == 1:
            return models[0]
        return cls(
            **{name: np.array([getattr(kind, name) for kind in kinds])[which] for name in FIELDS}
        )

    @property
    def shape(self) -> tuple[int, ...]:
        return np.shape(self.photocurrent_ref)

    @property
    def reference(self) -> DiodeParameters:
        """The five parameters at 1000 W/m² and 25 °C."""
        return self.operating(IRRADIANCE_REF, TEMPERATURE_REF)

    def __getitem__(self, index: Any) -> "ModuleModel":
        """A selection of the modules, as numpy selects."""
        return ModuleModel(**{name: getattr(self, name)[index] for name in FIELDS})

    def operating(
        self, effective_irradiance: ArrayLike, temperature_cell: ArrayLike
    ) -> DiodeParameters:
        """The five parameters of one module at irradiance [W/m²] and cell temperature [°C].

        Shapes broadcast against those of the model. Without light the photocurrent is zero.
        """
        suns = np.maximum(np.asarray(effective_irradiance, dtype=float) / IRRADIANCE_REF, 0.0)
        lit = np.maximum(suns, LEAST_SUNS)
        t = kelvin(temperature_cell)
        n = self.diode_factor_ref + self.diode_factor_slope * (t - T_REF)
        light = self.photocurrent_ref + self.alpha_sc * (t - T_REF)
        growth = self._saturation_growth(n, t) * lit**self.saturation_exponent
        shunt_share = self.dark_shunt_share + (1.0 - self.dark_shunt_share) * suns
        with np.errstate(divide="ignore"):
            shunt = self.resistance_shunt_ref / shunt_share
        return DiodeParameters.of(
            np.maximum(light, 0.0) * suns**self.photocurrent_exponent,
            self.saturation_current_ref * growth,
            self.resistance_series_ref * lit**self.series_exponent,
            shunt,
            n * self.cells_in_series * BOLTZMANN * t,
        )

    def _saturation_growth(self, n: Array, t: Array) -> Array:
        """Saturation current over that at reference temperature."""
        divisor = BOLTZMANN * np.where(self.activation_by_diode_factor, n, 1.0)
        gap = self.band_gap * (1.0 + self.band_gap_slope * (t - T_REF))
        exponent = self.band_gap / (divisor * T_REF) - gap / (divisor * t)
        light_over_dark = np.log(self.photocurrent_ref / self.saturation_current_ref)
        drift = light_over_dark * (1.0 - self.diode_factor_ref / n)
        return (t / T_REF) ** 3 * np.exp(exponent + drift)


FIELDS: tuple[str, ...] = tuple(field.name for field in fields(ModuleModel))
