"""Datasheet fits over pvlib's CEC list, ours beside pvlib's, in one run.

Run: python tests/benchmarks/bench_datasheet_fit.py [modules for pvlib's solvers]

Ours fits the whole list. pvlib's `fit_desoto` (default solver, and 'lm') takes a sample of the
list drawn with a fixed seed, because it works one module at a time; `fit_desoto_batzelis` and
the parameters stored in the list are judged on the whole of it. Judged alike for all, with
pvlib's own `singlediode` on the same parameters: both resistances and the saturation current
positive, and Isc, Voc, Imp and Vmp at STC within 0.01 % and 0.1 % of the list's.
"""

import sys
import time
import warnings
from collections import Counter
from collections.abc import Callable

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pvlib import pvsystem
from pvlib.ivtools.sdm import fit_desoto, fit_desoto_batzelis

from viewer.physics.datasheet.datasheet_fit import METHODS, DatasheetFit, fit_datasheets
from viewer.physics.translation.factors_from_model import factors_from_models

Array = NDArray[np.float64]

SAMPLE = 500
SEED = 20
MODELS = 400
"""Of the fitted ones, for the time that correction factors take."""

TECHNOLOGY = {
    "Mono-c-Si": "mono-Si",
    "Multi-c-Si": "multi-Si",
    "Thin Film": "thin-film",
    "CdTe": "CdTe",
    "CIGS": "CIGS",
}
PARAMETERS = ("I_L_ref", "I_o_ref", "R_s", "R_sh_ref", "a_ref")


def cec_list() -> pd.DataFrame:
    """pvlib's CEC list, one row a module, numbers as numbers."""
    table = pvsystem.retrieve_sam("CECMod").T
    numbers = table.columns.difference(["Technology", "BIPV", "Version", "Date"])
    table[numbers] = table[numbers].apply(pd.to_numeric, errors="coerce")
    return table


def judge(parameters: Array, modules: pd.DataFrame) -> tuple[Array, NDArray[np.bool_]]:
    """Largest relative miss of the four values at STC, and whether all is physical."""
    usable = np.all(np.isfinite(parameters), axis=1)
    physical = usable & np.all(parameters > 0.0, axis=1)
    worst = np.full(len(modules), np.inf)
    rows, wanted = parameters[physical], modules[physical]
    at_stc = pvsystem.singlediode(*rows.T)
    misses = [
        np.abs(at_stc[ours].to_numpy() / wanted[theirs].to_numpy() - 1.0)
        for ours, theirs in (
            ("i_sc", "I_sc_ref"),
            ("v_oc", "V_oc_ref"),
            ("i_mp", "I_mp_ref"),
            ("v_mp", "V_mp_ref"),
        )
    ]
    worst[physical] = np.max(misses, axis=0)
    return worst, physical


def ours(method: str, modules: pd.DataFrame) -> tuple[DatasheetFit, float]:
    began = time.perf_counter()
    fit = fit_datasheets(
        modules.I_sc_ref,
        modules.V_oc_ref,
        modules.I_mp_ref,
        modules.V_mp_ref,
        modules.alpha_sc,
        modules.beta_oc,
        modules.gamma_r / 100.0,
        modules.N_s,
        modules.Technology.map(TECHNOLOGY).to_numpy(str),
        method=method,
    )
    return fit, time.perf_counter() - began


def theirs(fit: Callable[[pd.Series], dict[str, float]], modules: pd.DataFrame) -> Array:
    """Parameters of one of pvlib's fits, NaN where it raises."""
    rows = np.full((len(modules), len(PARAMETERS)), np.nan)
    for row, (_, module) in zip(rows, modules.iterrows(), strict=True):
        try:
            found = fit(module)
        except (RuntimeError, ValueError, FloatingPointError):
            continue
        row[:] = [found[name] for name in PARAMETERS]
    return rows


def desoto(root_kwargs: dict[str, str]) -> Callable[[pd.Series], dict[str, float]]:
    def fit(module: pd.Series) -> dict[str, float]:
        return fit_desoto(
            module.V_mp_ref,
            module.I_mp_ref,
            module.V_oc_ref,
            module.I_sc_ref,
            module.alpha_sc,
            module.beta_oc,
            int(module.N_s),
            root_kwargs=root_kwargs,
        )[0]

    return fit


def batzelis(modules: pd.DataFrame) -> Array:
    found = fit_desoto_batzelis(
        modules.V_mp_ref.to_numpy(),
        modules.I_mp_ref.to_numpy(),
        modules.V_oc_ref.to_numpy(),
        modules.I_sc_ref.to_numpy(),
        modules.alpha_sc.to_numpy(),
        modules.beta_oc.to_numpy(),
    )
    return np.column_stack([found[name] for name in PARAMETERS])


def line(name: str, seconds: float | None, parameters: Array, modules: pd.DataFrame) -> None:
    worst, physical = judge(parameters, modules)
    milliseconds = "" if seconds is None else f"{1e3 * seconds / len(modules):.3f}"
    print(
        f"{name:34s}{len(modules):8d}{milliseconds:>11s}{100 * physical.mean():11.2f}"
        f"{100 * np.mean(worst <= 1e-4):13.2f}{100 * np.mean(worst <= 1e-3):12.2f}"
    )


def main() -> None:
    warnings.simplefilter("ignore")
    modules = cec_list()
    sample = modules.sample(int(sys.argv[1]) if len(sys.argv) > 1 else SAMPLE, random_state=SEED)
    print(
        f"{'fit':34s}{'modules':>8s}{'ms/module':>11s}{'physical %':>11s}"
        f"{'in 0.01 % %':>13s}{'in 0.1 % %':>12s}"
    )
    fits = {}
    for method in METHODS:
        fit, seconds = ours(method, modules)
        fits[method] = fit
        line(f"ours, {method}", seconds, np.column_stack(fit.model.reference.as_tuple()), modules)
    for name, options in (("default", {}), ("lm", {"method": "lm"})):
        began = time.perf_counter()
        rows = theirs(desoto(options), sample)
        line(f"pvlib fit_desoto, {name}", time.perf_counter() - began, rows, sample)
    began = time.perf_counter()
    rows = batzelis(modules)
    line("pvlib fit_desoto_batzelis", time.perf_counter() - began, rows, modules)
    line("stored in the list", None, modules[list(PARAMETERS)].to_numpy(float), modules)
    coefficients(fits, modules)
    sentences(fits["technology"])
    factors(fits["technology"])


def coefficients(fits: dict[str, DatasheetFit], modules: pd.DataFrame) -> None:
    print("\nshare of modules with the coefficient met within 0.005 %/K, and its 95th percentile")
    for method, fit in fits.items():
        beta = np.abs(fit.residuals["beta_voc"] / modules.V_oc_ref.to_numpy()) * 100.0
        gamma = np.abs(fit.residuals["gamma_pmp"]) * 100.0
        print(
            f"{method:20s} beta_voc {100 * np.mean(beta < 0.005):6.2f} %"
            f"{np.nanpercentile(beta, 95):9.4f} %/K   gamma_pmp "
            f"{100 * np.mean(gamma < 0.005):6.2f} %{np.nanpercentile(gamma, 95):9.4f} %/K"
        )


def sentences(fit: DatasheetFit) -> None:
    print("\ndatasheets with a contradiction or an assumption, by the first words of the sentence")
    for title, groups in (("no model", fit.problems), ("remark", fit.remarks)):
        kinds = Counter(" ".join(text.split()[:1]) for group in groups for text in group)
        for kind, count in kinds.most_common():
            example = next(t for group in groups for t in group if t.startswith(kind))
            print(f"{count:6d}  {title}: {example}")


def factors(fit: DatasheetFit) -> None:
    """What the correction factors of IEC 60891 take from there, one module at a time or all."""
    places = np.random.default_rng(SEED).choice(np.flatnonzero(fit.fitted), MODELS, replace=False)
    models = [fit.model[k] for k in places]
    began = time.process_time()
    factors_from_models(models)
    between = time.process_time()
    for one in models:
        factors_from_models([one])
    ended = time.process_time()
    together, alone = ((b - a) * 1e3 / MODELS for a, b in ((began, between), (between, ended)))
    print(
        f"\ncorrection factors of {MODELS} of the models, processor time: "
        f"{together:.2f} ms a module together, {alone:.2f} ms one at a time"
    )


if __name__ == "__main__":
    main()
