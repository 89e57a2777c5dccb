"""The single-diode parameters the invented modules truly have, without the package's own fit.

From a datasheet: the diode factor is given, the four STC conditions (short circuit, open
circuit, maximum power point and its zero slope) give the other four parameters, and the band
gap is chosen so that the open-circuit voltage falls as the datasheet says. Temperature and
irradiance act as De Soto, Klein and Beckman (Solar Energy 80 (2006) 78-88) describe. A module
of pvlib's list is taken with `pvlib.pvsystem.calcparams_cec`.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import pvlib
from scipy.optimize import brentq, least_squares

Five = tuple[float, float, float, float, float]
"""Photocurrent, saturation current, series and shunt resistance, nNsVth."""

BOLTZMANN_EV = 8.617333262e-5
RESISTANCE_DRIFT = 0.0039  # 1/K, copper and silver near 20 °C (from memory)


@dataclass(frozen=True)
class CellTruth:
    """One cell of one path at some irradiance and temperature [A, ohm, V]."""

    photocurrent: float
    saturation_current: float
    resistance_series: float
    resistance_shunt: float
    n_vth: float


@dataclass(frozen=True)
class ModuleTruth:
    """A module type: the printed values and the parameters behind them."""

    key: str
    sheet: dict[str, Any]
    at_stc: Five
    band_gap: float

    def cell(self, irradiance: float, temperature: float) -> CellTruth:
        """One cell in light of `irradiance` [W/m²] at `temperature` [°C]."""
        if "library" in self.sheet:
            values = library_parameters(self.sheet["library"], irradiance, temperature)
        else:
            values = self._moved(irradiance, temperature)
        il, i0, rs, rsh, n_ns_vth = values
        cells, paths = self.sheet["cells_in_series"], self.sheet["parallel_paths"]
        return CellTruth(
            il / paths, i0 / paths, rs / cells * paths, rsh / cells * paths, n_ns_vth / cells
        )

    def _moved(self, irradiance: float, temperature: float) -> Five:
        sheet = self.sheet
        alpha = sheet["alpha_sc"] / 100 * sheet["i_sc"]
        return moved(self.at_stc, alpha, self.band_gap, irradiance, temperature)


def moved(
    at_stc: Five,
    alpha_sc: float,
    band_gap: float,
    irradiance: float,
    temperature: float,
) -> Five:
    """The five parameters at other conditions (De Soto 2006; band gap taken as constant)."""
    il, i0, rs, rsh, a = at_stc
    t, t0 = temperature + 273.15, 298.15
    light = irradiance / 1000
    return (
        light * (il + alpha_sc * (t - t0)),
        i0 * (t / t0) ** 3 * np.exp(band_gap / BOLTZMANN_EV * (1 / t0 - 1 / t)),
        rs * (1 + RESISTANCE_DRIFT * (t - t0)),
        rsh / light,
        a * t / t0,
    )


@lru_cache(maxsize=4096)
def library_parameters(name: str, irradiance: float, temperature: float) -> Five:
    """The five parameters of a module of pvlib's CEC list."""
    row = pvlib.pvsystem.retrieve_sam("CECMod")[name]
    il, i0, rs, rsh, a = pvlib.pvsystem.calcparams_cec(
        np.array([irradiance]),
        np.array([temperature]),
        row["alpha_sc"],
        row["a_ref"],
        row["I_L_ref"],
        row["I_o_ref"],
        row["R_sh_ref"],
        row["R_s"],
        row["Adjust"],
    )
    return tuple(float(np.ravel(x)[0]) for x in (il, i0, rs, rsh, a))  # type: ignore[return-value]


def solve_at_stc(sheet: dict[str, Any]) -> Five:
    """The five parameters at STC that meet the printed values at the given diode factor."""
    i_sc, v_oc, i_mp, v_mp = (sheet[k] for k in ("i_sc", "v_oc", "i_mp", "v_mp"))
    a = sheet["truth"]["diode_factor"] * sheet["cells_in_series"] * BOLTZMANN_EV * 298.15

    def unpack(x: np.ndarray) -> tuple[float, float, float, float]:
        return x[0] * i_sc, float(np.exp(x[1])), x[2], 1 / x[3]

    def residual(x: np.ndarray) -> list[float]:
        il, i0, rs, rsh = unpack(x)

        def left_over(v: float, i: float) -> float:
            vd = v + i * rs
            return il - i0 * np.expm1(vd / a) - vd / rsh - i

        slope = i0 / a * np.exp((v_mp + i_mp * rs) / a) + 1 / rsh
        zero_slope = i_mp - v_mp * slope / (1 + rs * slope)
        return [left_over(0, i_sc), left_over(v_oc, 0), left_over(v_mp, i_mp), zero_slope]

    guess = [1.0, np.log(i_sc) - v_oc / a, 0.15, 1 / 400]
    fit = least_squares(residual, guess, x_scale=[1, 1, 0.1, 1e-3], xtol=1e-14, ftol=1e-14)
    il, i0, rs, rsh = unpack(fit.x)
    if fit.cost > 1e-12 or rs <= 0 or rsh <= 0:
        raise ValueError(f"no physical parameters meet the printed values: {fit}")
    return il, i0, rs, rsh, a


def solve_band_gap(sheet: dict[str, Any], at_stc: Five) -> float:
    """The band gap [eV] at which Voc falls by the printed coefficient from 25 to 50 °C."""
    alpha = sheet["alpha_sc"] / 100 * sheet["i_sc"]
    wanted = sheet["v_oc"] * (1 + sheet["beta_voc"] / 100 * 25)

    def miss(band_gap: float) -> float:
        il, i0, rs, rsh, a = moved(at_stc, alpha, band_gap, 1000, 50)
        return float(pvlib.singlediode.bishop88_v_from_i(0.0, il, i0, rs, rsh, a)) - wanted

    return float(brentq(miss, 0.6, 1.8))


def module_truth(key: str, sheet: dict[str, Any]) -> ModuleTruth:
    """A module type from its entry in the plan."""
    if "library" in sheet:
        row = pvlib.pvsystem.retrieve_sam("CECMod")[sheet["library"]]
        at_stc = tuple(float(row[k]) for k in ("I_L_ref", "I_o_ref", "R_s", "R_sh_ref", "a_ref"))
        return ModuleTruth(key, sheet, at_stc, 1.121)  # type: ignore[arg-type]
    at_stc = solve_at_stc(sheet)
    return ModuleTruth(key, sheet, at_stc, solve_band_gap(sheet, at_stc))
