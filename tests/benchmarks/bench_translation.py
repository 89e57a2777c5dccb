"""Errors of the IEC 60891 procedures against curves that pvlib computes at both conditions.

Run: python tests/benchmarks/bench_translation.py

Truth: pvlib's CEC model (`calcparams_cec`, `v_from_i` by Lambert's W) with the parameters that
pvlib's CEC list stores for each module. Each curve at 500 to 1100 W/m² and 15 to 70 °C is
translated to STC and compared with the truth there. The factors come from our model of the
module's datasheet values ("datasheet"), or from nine curves of the truth ("curves"). The last
table does it with a string of 20 modules in which one bypass group has half the light.
"""

import time
from dataclasses import dataclass

import numpy as np
import pvlib

from viewer.physics.datasheet.datasheet_fit import fit_module
from viewer.physics.translation import translate
from viewer.physics.translation.condition_curve import ConditionCurve
from viewer.physics.translation.factors_from_curves import KnownAtReference, factors_from_curves
from viewer.physics.translation.factors_from_model import factors_from_model
from viewer.physics.translation.interpolation import interpolate

MODULES = {
    "mono, 72 cells": ("Canadian_Solar_Inc__CS1U_400MS", "mono-Si"),
    "multi, 60 cells": ("Canadian_Solar_Inc__CS6P_250P", "multi-Si"),
    "n-type, 96 cells": ("SunPower_SPR_E20_327", "n-type-Si"),
    "heterojunction": ("SolarTech_Universal_STU_300_HJT", "HIT"),
    "CdTe": ("First_Solar__Inc__FS_4115_2", "CdTe"),
}
IRRADIANCES = (500.0, 600.0, 700.0, 800.0, 900.0, 1000.0, 1100.0)
TEMPERATURES = (15.0, 25.0, 40.0, 55.0, 70.0)
POINTS = 200
BYPASS_DROP = 0.5


@dataclass(frozen=True)
class Truth:
    """One module of the CEC list; `curve` gives its exact curve."""

    entry: object

    def parameters(self, poa, temperature):
        e = self.entry
        return pvlib.pvsystem.calcparams_cec(
            poa, temperature, e.alpha_sc, e.a_ref, e.I_L_ref, e.I_o_ref, e.R_sh_ref, e.R_s, e.Adjust
        )

    def voltage(self, current, poa, temperature):
        il, io, rs, rsh, a = self.parameters(poa, temperature)
        return pvlib.pvsystem.v_from_i(current, il, io, rs, rsh, a, method="lambertw")

    def i_sc(self, poa, temperature):
        return float(self.key_points(poa, temperature)["i_sc"])

    def key_points(self, poa, temperature):
        return pvlib.pvsystem.singlediode(*self.parameters(poa, temperature), method="lambertw")

    def curve(self, poa, temperature):
        short = self.i_sc(poa, temperature)
        i = short * np.sin(np.linspace(0.5 * np.pi, 0.0, POINTS))
        v = self.voltage(i, poa, temperature)
        v[0] = 0.0
        return v, i


def shaded_string(truth, poa, temperature, modules=20, groups=3, share=0.5):
    """Curve of a string with one bypass group at `share` of the light; ideal bypass."""
    i = np.linspace(truth.i_sc(poa, temperature), 0.0, 600)
    bright = truth.voltage(i, poa, temperature)
    dark = np.full_like(i, -np.inf)
    lit = i < truth.i_sc(poa * share, temperature) * 1.0002
    dark[lit] = truth.voltage(i[lit], poa * share, temperature)
    v = bright * (modules - 1 / groups) + np.maximum(dark / groups, -BYPASS_DROP)
    keep = v >= 0.0
    return v[keep], i[keep]


def maximum_power(v, i):
    """Parabola through the three points around the highest product."""
    p = v * i
    k = int(np.clip(np.argmax(p), 1, len(p) - 2))
    a, b, c = np.polyfit(v[k - 1 : k + 2] - v[k], p[k - 1 : k + 2], 2)
    return c - b * b / (4 * a) if a < 0 else p[k]


def factors(truth, technology):
    """From our model of the datasheet, and from nine curves of the truth."""
    e = truth.entry
    k = truth.key_points(1000.0, 25.0)
    warm = truth.key_points(1000.0, 45.0)
    fit = fit_module(
        float(k["i_sc"]),
        float(k["v_oc"]),
        float(k["i_mp"]),
        float(k["v_mp"]),
        float(warm["i_sc"] - k["i_sc"]) / 20,
        float(warm["v_oc"] - k["v_oc"]) / 20,
        float(warm["p_mp"] / k["p_mp"] - 1) / 20,
        e.N_s,
        technology,
    )
    by_model = factors_from_model(fit.model)
    measured = [
        ConditionCurve(*truth.curve(g, t), g, t)
        for g in (500.0, 800.0, 1100.0)
        for t in (15.0, 40.0, 70.0)
    ]
    return by_model, factors_from_curves(measured, KnownAtReference(int(e.N_s)))


def translated(truth, procedure, corrections, poa, temperature):
    if procedure == 3:
        corners = [
            ConditionCurve(*truth.curve(g, t), g, t) for g in (500.0, 1100.0) for t in (15.0, 70.0)
        ]
        return interpolate(corners, poa, temperature, float(corrections.resistance_series))
    v, i = truth.curve(poa, temperature)
    return translate(
        v,
        i,
        poa_global=poa,
        temperature_cell=temperature,
        corrections=corrections,
        procedure=procedure,
    )


def errors(truth, procedure, corrections):
    """Errors of Pmp, Voc, Isc in %, and RMS distance of the curve in % of Isc; one row each."""
    rows = []
    for poa in IRRADIANCES:
        for temperature in TEMPERATURES:
            target = (poa, temperature) if procedure == 3 else (1000.0, 25.0)
            true = truth.key_points(*target)
            got = translated(truth, procedure, corrections, poa, temperature)
            il, io, rs, rsh, a = truth.parameters(*target)
            inside = got.voltage <= float(true["v_oc"])
            exact = pvlib.pvsystem.i_from_v(got.voltage[inside], il, io, rs, rsh, a)
            rows.append(
                [
                    maximum_power(got.voltage, got.current) / true["p_mp"] - 1,
                    got.v_oc / true["v_oc"] - 1,
                    got.i_sc / true["i_sc"] - 1,
                    np.sqrt(np.mean((got.current[inside] - exact) ** 2)) / true["i_sc"],
                ]
            )
    return 100 * np.array(rows, dtype=float)


def line(name, factors_of, procedure, found):
    rms, most = np.sqrt(np.mean(found**2, axis=0)), np.max(np.abs(found), axis=0)
    cells = " | ".join(f"{a:.2f} ({b:.2f})" for a, b in zip(rms, most, strict=True))
    print(f"| {name} | {factors_of} | {procedure} | {cells} |")


def shaded_errors(truth, procedure, corrections):
    v, i = shaded_string(truth, 1000.0, 25.0)
    true = maximum_power(v, i), v.max()
    of_string = corrections.in_series(20)
    rows = []
    for poa in IRRADIANCES:
        for temperature in TEMPERATURES:
            v_1, i_1 = shaded_string(truth, poa, temperature)
            got = translate(
                v_1,
                i_1,
                poa_global=poa,
                temperature_cell=temperature,
                corrections=of_string,
                procedure=procedure,
            )
            exact = np.interp(got.voltage, v, i)
            far = np.sqrt(np.mean((got.current - exact) ** 2)) / i.max()
            rows.append(
                [maximum_power(got.voltage, got.current) / true[0] - 1, got.v_oc / true[1] - 1, far]
            )
    return 100 * np.array(rows)


def speed(corrections):
    """Time of one procedure on 2000 curves of 200 points in one call."""
    truth = Truth(pvlib.pvsystem.retrieve_sam("CECMod")[MODULES["mono, 72 cells"][0]])
    v, i = truth.curve(800.0, 50.0)
    many_v, many_i = np.tile(v, (2000, 1)), np.tile(i, (2000, 1))
    for procedure in (1, 2, 4):
        start = time.perf_counter()
        translate(
            many_v,
            many_i,
            poa_global=800.0,
            temperature_cell=50.0,
            corrections=corrections,
            procedure=procedure,
        )
        batch = (time.perf_counter() - start) / 2000
        start = time.perf_counter()
        for _ in range(200):
            translate(
                v,
                i,
                poa_global=800.0,
                temperature_cell=50.0,
                corrections=corrections,
                procedure=procedure,
            )
        alone = (time.perf_counter() - start) / 200
        print(
            f"procedure {procedure}: {batch * 1e6:.0f} µs a curve in bulk, {alone * 1e6:.0f} alone"
        )


def main():
    modules = pvlib.pvsystem.retrieve_sam("CECMod")
    print(f"pvlib {pvlib.__version__}; RMS (largest) error in % over {len(IRRADIANCES)} x ", end="")
    print(f"{len(TEMPERATURES)} conditions; distance: of the curve, in % of Isc")
    print("| module | factors from | procedure | Pmp | Voc | Isc | distance |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    shaded = []
    for name, (entry, technology) in MODULES.items():
        truth = Truth(modules[entry])
        by_model, by_curves = factors(truth, technology)
        for procedure in (1, 2, 4):
            line(name, "datasheet", procedure, errors(truth, procedure, by_model))
        for procedure in (1, 2, 4):
            line(name, "curves", procedure, errors(truth, procedure, by_curves))
        line(name, "four curves", 3, errors(truth, 3, by_curves))
        if name == "mono, 72 cells":
            shaded = [(p, shaded_errors(truth, p, by_model)) for p in (1, 2, 4)]
            fast = by_model
    print("\nString of 20 mono modules, one bypass group at half the light, to STC")
    print("| procedure | Pmp | Voc | distance |\n| --- | --- | --- | --- |")
    for procedure, found in shaded:
        rms, most = np.sqrt(np.mean(found**2, axis=0)), np.max(np.abs(found), axis=0)
        cells = " | ".join(f"{a:.2f} ({b:.2f})" for a, b in zip(rms, most, strict=True))
        print(f"| {procedure} | {cells} |")
    print()
    speed(fast)


if __name__ == "__main__":
    main()
