"""Makes a visit folder of invented strings with known faults, simulated by ngspice.

Nothing of this program computes the curves: the modules are drawn from pvlib's CEC list, their
parameters at the conditions come from pvlib's `calcparams_cec`, and the string is a netlist of
cells (equal cells in series lumped into one element with the cell count times its emission
coefficient) that ngspice solves. The program then sees what a field engineer would: datasheet
values, a sweep with noise, and irradiance and temperature as read, with reading errors.

    python -m tests.fault_set.generate FOLDER --seed 1 --strings 600

FOLDER gets `site.toml`, one CSV per string and `truth.json`. Every string has a combiner of its
own, so that no neighbours help. Which seeds are for tuning
and which are held out is said in tests/benchmarks/bench_findings.py.
"""

import argparse
import json
from dataclasses import asdict
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib

from tests.fault_set.faults import CAUSES_IN_TURN, Case, draw_case, without_faults
from tests.fault_set.netlist import simulate

MEASURED_AT = "2030-06-14T{hour:02d}:{minute:02d}:{second:02d}"


def suitable_modules() -> pd.DataFrame:
    """Crystalline modules of pvlib's CEC list with 54 to 78 cells that could be strung today."""
    table = pvlib.pvsystem.retrieve_sam("CECMod").T
    keep = (
        table["Technology"].isin(["Mono-c-Si", "Multi-c-Si"])
        & table["N_s"].isin([54, 60, 66, 72, 78])
        & (table["I_sc_ref"].astype(float) > 7.5)
        & (table["I_sc_ref"].astype(float) < 19)
        & (table["R_sh_ref"].astype(float) > 150)
    )
    return table[keep]


def measured_sweep(
    case: Case, voltage: np.ndarray, current: np.ndarray, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """The curve as an instrument would record it: chosen points, noise in both quantities."""
    v_oc = float(np.interp(0.0, -current, voltage))
    if case.spacing == "even":
        at = np.linspace(0.004, 1.0, case.points) * v_oc
    else:  # a capacitor's charging curve: points lie closer where the current falls
        arc = np.hypot(np.gradient(voltage) / v_oc, np.gradient(current) / current.max())
        length = np.cumsum(arc)
        at = np.interp(
            np.linspace(length[0] + 0.004, length[-1], case.points), length, voltage
        ).clip(0.002 * v_oc, v_oc)
    clean = np.interp(at, voltage, current)
    size = case.noise
    noisy_v = at * (1 + size * 0.5 * rng.standard_normal(at.size))
    noisy_i = clean + size * current.max() * rng.standard_normal(at.size)
    return noisy_v, noisy_i


def stc_row(module: pd.Series, temperature: float) -> dict[str, float]:
    """Key points of the simulated module at 1000 W/m² and that cell temperature."""
    names = ("alpha_sc", "a_ref", "I_L_ref", "I_o_ref", "R_sh_ref", "R_s", "Adjust")
    parameters = pvlib.pvsystem.calcparams_cec(
        1000.0, temperature, *(float(module[name]) for name in names)
    )
    return pvlib.pvsystem.singlediode(*parameters)


def datasheet_table(key: str, module: pd.Series, case: Case) -> str:
    """The module's block of site.toml, rounded as datasheets are.

    The values are those of the model that is simulated, so that a deviation found later comes
    from the fault and not from a datasheet that belongs to another module.
    """
    technology = "mono-Si" if module["Technology"] == "Mono-c-Si" else "multi-Si"
    cold, warm = stc_row(module, 25.0), stc_row(module, 50.0)

    def per_kelvin(name: str) -> float:
        return 100.0 * (warm[name] / cold[name] - 1.0) / 25.0

    return "\n".join(
        [
            f"[module.{key}]",
            f'technology = "{technology}"',
            f"i_sc = {cold['i_sc']:.2f}",
            f"v_oc = {cold['v_oc']:.2f}",
            f"i_mp = {cold['i_mp']:.2f}",
            f"v_mp = {cold['v_mp']:.2f}",
            f"alpha_sc = {per_kelvin('i_sc'):.3f}",
            f"beta_voc = {per_kelvin('v_oc'):.3f}",
            f"gamma_pmp = {per_kelvin('p_mp'):.3f}",
            f"cells_in_series = {int(module['N_s'])}",
            f"parallel_paths = {case.parallel_paths}",
            "bypass_diodes = 3",
            "bifaciality = 0.0",
            "",
        ]
    )


def trace_text(case: Case, voltage: np.ndarray, current: np.ndarray) -> str:
    moment = MEASURED_AT.format(
        hour=9 + case.number // 600, minute=case.number // 10 % 60, second=case.number % 10 * 6
    )
    lines = [
        f"# combiner: C{case.number:04d}",
        f"# string: {case.name}",
        f"# measured_at: {moment}",
        f"# poa_global: {case.poa_read:.1f}",
        f"# temperature_cell: {case.temperature_read:.1f}",
        "voltage,current",
    ]
    lines += [f"{v:.3f},{i:.4f}" for v, i in zip(voltage, current, strict=True)]
    return "\n".join(lines) + "\n"


def generate(folder: Path, seed: int, strings: int) -> list[dict]:
    """Write the visit folder and return its truth, one dictionary a string."""
    folder.mkdir(parents=True, exist_ok=True)
    modules = suitable_modules()
    rng = np.random.default_rng(seed)
    truth, modules_text, strings_text = [], [], []
    for number in range(strings):
        cause = CAUSES_IN_TURN[number % len(CAUSES_IN_TURN)]
        module = modules.iloc[int(rng.integers(len(modules)))]
        case = draw_case(number, cause, rng)
        draws = [seed, number]
        voltage, current, case = simulate(case, module, np.random.default_rng(draws))
        sound = simulate(without_faults(case), module, np.random.default_rng(draws))
        lost = 1.0 - float(np.max(voltage * current)) / float(np.max(sound[0] * sound[1]))
        noisy = measured_sweep(case, voltage, current, rng)
        (folder / f"{case.name}.csv").write_text(trace_text(case, *noisy), encoding="utf-8")
        modules_text.append(datasheet_table(f"M{number}", module, case))
        strings_text.append(
            f'\n[[combiner]]\nname = "C{number:04d}"\n  [[combiner.string]]\n'
            f'  name = "{case.name}"\n  module = "M{number}"\n'
            f"  modules_in_series = {case.modules}\n  strings_in_parallel = 1\n"
        )
        truth.append(
            {
                **asdict(case),
                "module": str(module.name),
                "i_sc": float(current[0]),
                "power_lost": round(lost, 5),
            }
        )
    site = 'name = "Invented fault set"\n\n' + "\n".join(modules_text)
    site += "".join(strings_text)
    (folder / "site.toml").write_text(site, encoding="utf-8")
    (folder / "truth.json").write_text(json.dumps(truth, indent=1), encoding="utf-8")
    return truth


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--strings", type=int, default=600)
    arguments = parser.parse_args()
    generate(arguments.folder, arguments.seed, arguments.strings)


if __name__ == "__main__":
    main()
