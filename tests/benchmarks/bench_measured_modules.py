"""Translation and equivalent cell temperature against modules measured in a laboratory.

Run: python tests/benchmarks/bench_measured_modules.py FOLDER

FOLDER holds the NREL mPERT matrices (B. Marion and others, Data for Validating Models for PV
Module Performance; repackaged by A. Driesse, 2019): one CSV a module with temperature,
irradiance, i_sc, v_oc, i_mp, v_mp, p_mp, and modules.json with technology, cells in series and
coefficients. A curve is laid through each row's points and translated to STC with the factors
of the datasheet's model; its maximum power is compared with the STC row. The equivalent cell
temperature comes from each row's Voc. Rows of 400 W/m² and more.
"""

import json
import sys
from pathlib import Path

import numpy as np
import pandas as pd

from viewer.physics.cell_temperature import equivalent_cell_temperature, temperature_of_voc
from viewer.physics.datasheet.datasheet_fit import fit_module
from viewer.physics.datasheet.technology import TECHNOLOGY_TABLE
from viewer.physics.single_diode import curve, exact_key_points, open_circuit_voltage
from viewer.physics.translation import translate
from viewer.physics.translation.factors_from_model import factors_from_model
from viewer.physics.translation.translated_key_points import translated_key_points

NAMES = {
    "Multi-crystalline silicon": "multi-Si",
    "Single-crystalline silicon": "mono-Si",
    "Amorphous silicon/crystalline silicon (HIT)": "HIT",
    "Cadmium telluride": "CdTe",
    "Copper indium gallium selenide": "CIGS",
    "Amorphous silicon tandem junction": "thin-film",
}


def fit(row, info):
    alpha, beta, gamma = (
        info[f"{name}_percent_per_K"] / 100 for name in ("alpha_sc", "beta_voc", "gamma_pmp")
    )
    return fit_module(
        row.i_sc,
        row.v_oc,
        row.i_mp,
        row.v_mp,
        alpha * row.i_sc,
        beta * row.v_oc,
        gamma,
        info["cells_in_series"],
        NAMES[info["technology"]],
    ).model


def rms(values):
    return float(np.sqrt(np.nanmean(np.square(values))))


def translation_errors(rows, stc, info, model, procedure):
    corrections = factors_from_model(model)
    off = []
    for row in rows.itertuples():
        through = fit(row, info)
        if through is None:
            continue
        v, i = curve(through.operating(1000.0, 25.0))
        moved = translate(
            v,
            i,
            poa_global=row.irradiance,
            temperature_cell=row.temperature,
            corrections=corrections,
            procedure=procedure,
        )
        off.append(float(translated_key_points(moved)["p_mp"]) / stc.p_mp - 1)
    return 100 * np.array(off)


def temperatures(v_oc, poa, stc, info, model):
    """Equivalent cell temperatures [°C] by the model, and by the standard's equation."""
    with np.errstate(over="ignore"):
        by_model = temperature_of_voc(v_oc, lambda t: open_circuit_voltage(model.operating(poa, t)))
    kind = TECHNOLOGY_TABLE[NAMES[info["technology"]]]
    cells = info["cells_in_series"]
    factor = kind.diode_factor * kind.junctions(stc.v_oc / cells)
    beta = info["beta_voc_percent_per_K"] / 100 * stc.v_oc
    return by_model, equivalent_cell_temperature(v_oc, poa, stc.v_oc, beta, cells, factor)


def main(folder):
    modules = json.loads((folder / "modules.json").read_text())
    print("RMS (largest) error; Pmp in %, temperature in K")
    print("| module | model Pmp | procedure 1 | 2 | 4 | T of Voc, model | T of Voc, IEC 60904-5 |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for name, info in modules.items():
        rows = pd.read_csv(folder / f"{name}.csv")
        stc = rows[(rows.irradiance == 1000) & (rows.temperature == 25)].iloc[0]
        rows = rows[rows.irradiance >= 400]
        poa, cell = rows.irradiance.to_numpy(float), rows.temperature.to_numpy(float)
        model = fit(stc, info)
        predicted = exact_key_points(model.operating(poa, cell))["p_mp"]
        found = [100 * (predicted / rows.p_mp.to_numpy() - 1)]
        found += [translation_errors(rows, stc, info, model, p) for p in (1, 2, 4)]
        found += [t - cell for t in temperatures(rows.v_oc.to_numpy(), poa, stc, info, model)]
        cells = " | ".join(f"{rms(x):.2f} ({np.nanmax(np.abs(x)):.2f})" for x in found)
        print(f"| {name} | {cells} |")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("Give the folder of the NREL mPERT matrices.")
    main(Path(sys.argv[1]))
