"""Predicted maximum power against Sandia's array performance model of some 440 modules.

Run: python tests/benchmarks/bench_sandia_modules.py

pvlib's copy of Sandia's module database holds the King (2004) model of modules measured outdoors;
none of them was used to choose the defaults in `technology`. The model is taken as the truth at
400 to 1100 W/m² and 25 to 65 °C (its voltage coefficients do not depend on irradiance, so part
of the error at 65 °C and low irradiance is its own). Every fit is given the values at STC, the
mean coefficients from 25 to 55 °C, the cells and the technology. Many entries of the database are
one measured module scaled; "families" counts those with coefficients of their own. Root mean
square relative errors of Pmp in percent, mean over modules; then the quartiles, over families,
of the diode factor that would reproduce the response to irradiance at 25 °C.
"""

import warnings
from dataclasses import replace
from unittest.mock import patch

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pvlib import pvsystem

from viewer.physics.datasheet.datasheet_fit import METHODS, fit_datasheets
from viewer.physics.datasheet.technology import TECHNOLOGY_TABLE
from viewer.physics.single_diode import exact_key_points

Array = NDArray[np.float64]

TECHNOLOGY = {"c-Si": "mono-Si", "mc-Si": "multi-Si", "EFG mc-Si": "multi-Si", "HIT-Si": "HIT"}
IRRADIANCE = np.repeat([400.0, 600.0, 800.0, 1000.0, 1100.0], 3)
TEMPERATURE = np.tile([25.0, 50.0, 65.0], 5)
DIM = (TEMPERATURE == 25.0) & (IRRADIANCE < 1000.0)
FACTORS = np.arange(0.8, 1.85, 0.05)
FAMILY = ["N", "C0", "C1", "C2", "C3"]


def sandia_modules() -> pd.DataFrame:
    """What a datasheet of each module would say, and its power at the conditions."""
    rows = []
    for name, entry in pvsystem.retrieve_sam("SandiaMod").T.iterrows():
        if entry.Material not in TECHNOLOGY:
            continue
        numbers = entry.drop(["Material", "Vintage", "Notes"], errors="ignore").astype(float)
        ends = pvsystem.sapm(np.array([1000.0, 1000.0]), np.array([25.0, 55.0]), numbers)
        stc, warm = ({key: values[k] for key, values in ends.items()} for k in (0, 1))
        truth = pvsystem.sapm(IRRADIANCE, TEMPERATURE, numbers)
        rows.append(
            {
                "name": name,
                "material": entry.Material,
                "cells": numbers.Cells_in_Series,
                **{key: stc[key] for key in ("i_sc", "v_oc", "i_mp", "v_mp", "p_mp")},
                "alpha": (warm["i_sc"] - stc["i_sc"]) / 30.0,
                "beta": (warm["v_oc"] - stc["v_oc"]) / 30.0,
                "gamma": (warm["p_mp"] / stc["p_mp"] - 1.0) / 30.0,
                "power": truth["p_mp"],
                "family": tuple(numbers[FAMILY].round(6)),
            }
        )
    return pd.DataFrame(rows)


def errors(modules: pd.DataFrame, method: str) -> Array:
    fit = fit_datasheets(
        modules.i_sc,
        modules.v_oc,
        modules.i_mp,
        modules.v_mp,
        modules.alpha,
        modules.beta,
        modules.gamma,
        modules.cells,
        modules.material.map(TECHNOLOGY).to_numpy(str),
        method=method,
    )
    predicted = exact_key_points(fit.model[:, None].operating(IRRADIANCE, TEMPERATURE))
    return predicted["p_mp"] / np.vstack(modules.power) - 1.0


def linear(modules: pd.DataFrame) -> Array:
    at_stc, gamma = modules.p_mp.to_numpy()[:, None], modules.gamma.to_numpy()[:, None]
    predicted = at_stc * IRRADIANCE / 1000.0 * (1.0 + gamma * (TEMPERATURE - 25.0))
    return predicted / np.vstack(modules.power) - 1.0


def mean_rms(relative: Array) -> float:
    return float(np.nanmean(100.0 * np.sqrt(np.mean(relative**2, axis=1))))


def implied_factors(modules: pd.DataFrame) -> Array:
    """The diode factor with which the mean error at 25 °C below 1000 W/m² would vanish."""
    means = []
    for factor in FACTORS:
        table = {k: replace(v, diode_factor=factor) for k, v in TECHNOLOGY_TABLE.items()}
        with patch.dict(TECHNOLOGY_TABLE, table):
            means.append(np.mean(errors(modules, "technology")[:, DIM], axis=1))
    return np.array([np.interp(0.0, -column, FACTORS) for column in np.array(means).T])


def main() -> None:
    warnings.simplefilter("ignore")
    modules = sandia_modules()
    print(f"{'':12s}{'modules':>8s}{'families':>9s}", end="")
    print("".join(f"{name:>16s}" for name in (*METHODS, "linear")), "  implied diode factor")
    for material, group in modules.groupby("material"):
        families = group.drop_duplicates("family")
        quartiles = np.percentile(implied_factors(families), [25, 50, 75])
        print(
            f"{material:12s}{len(group):8d}{len(families):9d}"
            + "".join(f"{mean_rms(errors(group, method)):16.3f}" for method in METHODS)
            + f"{mean_rms(linear(group)):16.3f}   "
            + " ".join(f"{value:.2f}" for value in quartiles)
        )


if __name__ == "__main__":
    main()
