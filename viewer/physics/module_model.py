"""How a module's five parameters move with irradiance and cell temperature.

With S = irradiance / 1000 W/m², T in kelvin, T0 = 298.15 K, k in eV/K:

    photocurrent       = S (photocurrent_ref + alpha_sc (T - T0))
    n                  = diode_factor_ref + diode_factor_slope (T - T0)
    nNsVth             = n cells_in_series k T
    saturation_current = saturation_current_ref (T/T0)³ exp(Eg0/(m k T0) - Eg/(m k T)),
                         Eg = Eg0 (1 + band_gap_slope (T - T0))
    1/resistance_shunt = (d + (1 - d) S) / resistance_shunt_ref,  d = dark_shunt_share
    resistance_series    as at reference

m is the diode factor n when `activation_by_diode_factor` is set: a current that recombines with
diode factor n is activated with Eg/n, so that the extrapolated open-circuit voltage at 0 K
is the band gap (the form of A. Mermoud and T. Lejeune, Performance assessment of a simulation
model for PV modules of any available technology, 25th EU PVSEC, 2010; pvlib's
`calcparams_pvsyst`). Otherwise m is 1, and with d = 0 and no slope of n the equations are those
of W. De Soto, S. A. Klein and W. A. Beckman, Solar Energy 80 (2006) 78-88 (pvlib's
`calcparams_desoto`).
"""

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF, kelvin
from viewer.physics.single_diode import DiodeParameters

Array = NDArray[np.float64]

BOLTZMANN = 8.617333262e-5
"""Boltzmann constant, eV/K (CODATA 2018)."""

DESOTO_BAND_GAP_SLOPE = -0.0002677
"""Relative change of the band gap of silicon, 1/K (De Soto 2006)."""


@dataclass(frozen=True, eq=False)
class ModuleModel:
    """Reference parameters of one module, or of many as arrays of one shape.

    photocurrent_ref, saturation_current_ref [A]; resistance_series, resistance_shunt_ref
    [ohm]; diode_factor_ref [1]; cells_in_series [1]; alpha_sc [A/K]; band_gap [eV] at 25 °C;
    band_gap_slope [1/K, relative]; diode_factor_slope [1/K]; dark_shunt_share [0..1].
    """

    photocurrent_ref: Array
    saturation_current_ref: Array
    resistance_series: Array
    resistance_shunt_ref: Array
    diode_factor_ref: Array
    cells_in_series: Array
    alpha_sc: Array
    band_gap: Array
    band_gap_slope: Array
    diode_factor_slope: Array
    dark_shunt_share: Array
    activation_by_diode_factor: bool = True

    @property
    def shape(self) -> tuple[int, ...]:
        return np.shape(self.photocurrent_ref)

    def __getitem__(self, index: Any) -> "ModuleModel":
        """A selection of the modules, as numpy selects."""
        chosen = {
            field.name: np.asarray(getattr(self, field.name))[index]
            for field in fields(self)
            if field.name != "activation_by_diode_factor"
        }
        return ModuleModel(**chosen, activation_by_diode_factor=self.activation_by_diode_factor)

    def operating(
        self, effective_irradiance: ArrayLike, temperature_cell: ArrayLike
    ) -> DiodeParameters:
        """The five parameters of one module at irradiance [W/m²] and cell temperature [°C].

        Shapes broadcast against those of the model. Without light the photocurrent is zero.
        """
        suns = np.asarray(effective_irradiance, dtype=float) / IRRADIANCE_REF
        t, t_ref = kelvin(temperature_cell), float(kelvin(TEMPERATURE_REF))
        warmer = t - t_ref
        n = self.diode_factor_ref + self.diode_factor_slope * warmer
        shunt_share = self.dark_shunt_share + (1.0 - self.dark_shunt_share) * suns
        with np.errstate(divide="ignore"):
            shunt = self.resistance_shunt_ref / shunt_share
        return DiodeParameters.of(
            np.maximum(suns * (self.photocurrent_ref + self.alpha_sc * warmer), 0.0),
            self.saturation_current_ref * self._saturation_growth(n, t, t_ref),
            self.resistance_series,
            shunt,
            n * self.cells_in_series * BOLTZMANN * t,
        )

    def _saturation_growth(self, n: Array, t: Array, t_ref: float) -> Array:
        """Saturation current over that at reference temperature."""
        divisor = BOLTZMANN * (n if self.activation_by_diode_factor else 1.0)
        gap = self.band_gap * (1.0 + self.band_gap_slope * (t - t_ref))
        exponent = self.band_gap / (divisor * t_ref) - gap / (divisor * t)
        return (t / t_ref) ** 3 * np.exp(exponent)
