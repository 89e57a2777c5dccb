"""Predicted maximum power against measured IEC 61853-1 matrices, module by module.

Run: python tests/benchmarks/bench_matrix_prediction.py FOLDER

FOLDER holds `modules.json` (technology, cells_in_series, alpha_sc_percent_per_K and so on, by
module) and one CSV a module with the columns temperature, irradiance, i_sc, v_oc, i_mp, v_mp,
p_mp. Given are the row at STC, the coefficients and the technology; "matrix" rows are given the
whole matrix, "left out" predict each row from all the others. Numbers are root mean square
relative errors of Pmp in percent, over 400 W/m² and more; the last column over all rows.

Peers: pvlib's De Soto model with our five-parameter solution of it (pvlib's own `fit_desoto`
where it converges), `fit_pvsyst_iec61853_sandia_2025` (which is given the matrix) and the
linear formula P = Pstc G/1000 (1 + gamma (T - 25)).
"""

import json
import sys
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pvlib import pvsystem
from pvlib.ivtools.sdm import fit_desoto, fit_pvsyst_iec61853_sandia_2025

from viewer.physics.datasheet.datasheet_fit import fit_module
from viewer.physics.datasheet.matrix_fit import fit_matrix
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.single_diode import exact_key_points

Array = NDArray[np.float64]

TECHNOLOGY = (
    ("multi-crystalline", "multi-Si"),
    ("single-crystalline", "mono-Si"),
    ("hit", "HIT"),
    ("cadmium", "CdTe"),
    ("gallium", "CIGS"),
    ("amorphous", "thin-film"),
)
COLUMNS = ("i_sc", "v_oc", "i_mp", "v_mp", "p_mp")
BRIGHT = 400.0


@dataclass(frozen=True)
class Module:
    """One module: its matrix and what its datasheet would say."""

    name: str
    technology: str
    cells: int
    alpha: float
    beta: float
    gamma: float
    rows: pd.DataFrame

    @property
    def stc(self) -> pd.Series:
        at_stc = (self.rows.temperature == 25) & (self.rows.irradiance == 1000)
        return self.rows[at_stc].iloc[0]

    @property
    def irradiance(self) -> Array:
        return self.rows.irradiance.to_numpy(float)

    @property
    def temperature(self) -> Array:
        return self.rows.temperature.to_numpy(float)

    def datasheet_model(self, method: str = "technology") -> ModuleModel:
        s = self.stc
        fit = fit_module(
            s.i_sc,
            s.v_oc,
            s.i_mp,
            s.v_mp,
            self.alpha * s.i_sc,
            self.beta * s.v_oc,
            self.gamma,
            self.cells,
            self.technology,
            method=method,
        )
        if fit.model is None:
            raise SystemExit(f"{self.name}: {' '.join(fit.problems)}")
        return fit.model

    def power(self, model: ModuleModel) -> Array:
        return exact_key_points(model.operating(self.irradiance, self.temperature))["p_mp"]


def read(folder: Path) -> list[Module]:
    modules = []
    for name, about in json.loads((folder / "modules.json").read_text("utf-8")).items():
        words = about["technology"].lower()
        technology = next(ours for theirs, ours in TECHNOLOGY if theirs in words)
        alpha, beta, gamma = (
            about[f"{key}_percent_per_K"] / 100.0 for key in ("alpha_sc", "beta_voc", "gamma_pmp")
        )
        rows = pd.read_csv(folder / f"{name}.csv")
        modules.append(Module(name, technology, about["cells_in_series"], alpha, beta, gamma, rows))
    return modules


def from_matrix(module: Module, kept: NDArray[np.bool_]) -> ModuleModel:
    rows = module.rows[kept]
    return fit_matrix(
        module.datasheet_model(),
        rows.irradiance,
        rows.temperature,
        **{name: rows[name] for name in COLUMNS},
    ).model


def whole_matrix(module: Module) -> Array:
    return module.power(from_matrix(module, np.ones(len(module.rows), dtype=bool)))


def left_out(module: Module) -> Array:
    power = np.empty(len(module.rows))
    for row in range(len(power)):
        model = from_matrix(module, np.arange(len(power)) != row)
        power[row] = module.power(model)[row]
    return power


def nominal_operation(module: Module) -> Array:
    """STC and the row at 800 W/m² and 50 °C, the nearest to nominal operating temperature."""
    kept = (module.rows.irradiance == 800) & (module.rows.temperature == 50)
    return module.power(from_matrix(module, kept.to_numpy()))


def low_light(module: Module) -> Array:
    """STC and the row at 200 W/m² and 25 °C, which some datasheets print."""
    kept = (module.rows.irradiance == 200) & (module.rows.temperature == 25)
    return module.power(from_matrix(module, kept.to_numpy()))


def pvlib_desoto(module: Module) -> Array:
    """pvlib's own fit by 'lm', NaN where it does not converge."""
    s = module.stc
    try:
        found = fit_desoto(
            s.v_mp,
            s.i_mp,
            s.v_oc,
            s.i_sc,
            module.alpha * s.i_sc,
            module.beta * s.v_oc,
            module.cells,
            root_kwargs={"method": "lm"},
        )[0]
    except RuntimeError:
        return np.full(len(module.rows), np.nan)
    parameters = pvsystem.calcparams_desoto(
        module.irradiance,
        module.temperature,
        module.alpha * s.i_sc,
        found["a_ref"],
        found["I_L_ref"],
        found["I_o_ref"],
        found["R_sh_ref"],
        found["R_s"],
    )
    return pvsystem.singlediode(*parameters)["p_mp"].to_numpy()


def pvlib_pvsyst(module: Module) -> Array:
    rows = module.rows
    found = fit_pvsyst_iec61853_sandia_2025(
        module.irradiance,
        module.temperature,
        *(rows[name].to_numpy(float) for name in COLUMNS[:4]),
        cells_in_series=module.cells,
    )
    parameters = pvsystem.calcparams_pvsyst(module.irradiance, module.temperature, **found)
    return pvsystem.singlediode(*parameters)["p_mp"].to_numpy()


def linear(module: Module) -> Array:
    suns, warmer = module.irradiance / 1000.0, module.temperature - 25.0
    return module.stc.p_mp * suns * (1.0 + module.gamma * warmer)


PREDICTIONS: dict[str, Callable[[Module], Array]] = {
    "ours, datasheet": lambda m: m.power(m.datasheet_model()),
    "ours, five-parameter": lambda m: m.power(m.datasheet_model("five-parameter")),
    "ours, six-parameter": lambda m: m.power(m.datasheet_model("six-parameter")),
    "ours, datasheet and NMOT row": nominal_operation,
    "ours, datasheet and 200 W/m² row": low_light,
    "ours, matrix": whole_matrix,
    "ours, matrix, row left out": left_out,
    "linear in irradiance": linear,
    "pvlib fit_desoto, lm": pvlib_desoto,
    "pvlib PVsyst 2025, matrix": pvlib_pvsyst,
}


def rms(errors: Array) -> float:
    return float(100.0 * np.sqrt(np.mean(errors**2)))


def main() -> None:
    if len(sys.argv) != 2:
        raise SystemExit(__doc__)
    warnings.simplefilter("ignore")
    modules = read(Path(sys.argv[1]))
    crystalline = [m.technology in ("mono-Si", "multi-Si", "n-type-Si", "HIT") for m in modules]
    print(
        " " * 34 + "".join(f"{m.name:>16s}" for m in modules) + f"{'crystalline':>13s}{'all G':>8s}"
    )
    for name, predict in PREDICTIONS.items():
        errors = [predict(m) / m.rows.p_mp.to_numpy(float) - 1.0 for m in modules]
        bright = [rms(e[m.irradiance >= BRIGHT]) for e, m in zip(errors, modules, strict=True)]
        every = [rms(e) for e in errors]
        print(
            f"{name:34s}"
            + "".join(f"{value:16.3f}" for value in bright)
            + f"{np.mean(np.array(bright)[crystalline]):13.3f}"
            + f"{np.mean(np.array(every)[crystalline]):8.3f}"
        )


if __name__ == "__main__":
    main()
