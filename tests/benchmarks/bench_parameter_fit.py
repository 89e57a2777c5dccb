"""The five-parameter fit on a folder of the public single-diode benchmark, beside two peers.

    python tests/benchmarks/bench_parameter_fit.py FOLDER

FOLDER holds caseNAME.json (curves with Voltages, Currents, Temperature) and caseNAME.csv (true
parameters) of the public I-V curve fitting benchmark of C. Hansen and others. A case with one
row of true parameters for many curves gets one joint fit; the peers, which fit one curve, are
judged there by the median of their parameters. Peers: pvlib's `fit_sandia_simple` and scipy's
`curve_fit` on pvlib's `i_from_v` from a rule-of-thumb start.
"""

import csv
import json
import sys
import time
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from pvlib.ivtools.sde import fit_sandia_simple
from pvlib.pvsystem import i_from_v
from scipy.constants import elementary_charge, k
from scipy.optimize import curve_fit

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from viewer.physics.curve_fit.parameter_fit import (
    ParameterFit,
    fit_parameters_jointly,
    fit_parameters_of_many,
)

Array = NDArray[np.float64]
Sweep = tuple[Array, Array]
NAMES = ("photocurrent", "saturation_current", "resistance_series", "resistance_shunt", "n")


def main(folder: Path) -> int:
    cases = sorted(path for path in folder.glob("case*.json") if path.with_suffix(".csv").exists())
    if not cases:
        print(f"{folder} holds no caseNAME.json with its caseNAME.csv.", file=sys.stderr)
        return 2
    warnings.simplefilter("ignore")
    for path in cases:
        sweeps, scales, truth = read_case(path)
        kind = "joint" if len(truth) == 1 and len(sweeps) > 1 else "each"
        print(f"\n{path.stem}: {len(sweeps)} curves, {kind} fit; relative errors of")
        print(f"{'':22}" + "".join(f"{name:>20}" for name in (*NAMES, "sum")) + f"{'ms':>10}")
        for name, way in ways(kind).items():
            start = time.perf_counter()
            found = way(sweeps)
            spent = (time.perf_counter() - start) / len(sweeps) * 1e3
            found = found.copy()
            found[..., 4] /= scales if found.ndim == 2 and len(found) == len(scales) else scales[0]
            report(name, found, truth, spent)
    return 0


def read_case(path: Path) -> tuple[list[Sweep], Array, Array]:
    """Curves, n to nNsVth for each, and the true parameters (rows, 5) with n last."""
    content = json.loads(path.read_text())
    curves = content["IV Curves"]
    sweeps = [
        (np.array(one["Voltages"], dtype=float), np.array(one["Currents"], dtype=float))
        for one in curves
    ]
    with path.with_suffix(".csv").open() as file:
        rows = list(csv.DictReader(file))
    truth = np.array([[float(row[name]) for name in NAMES] for row in rows])
    cells = [float(row["cells_in_series"]) for row in rows]
    cells = cells if len(cells) == len(curves) else [cells[0]] * len(curves)
    scales = np.array(
        [
            n * k * float(one["Temperature"]) / elementary_charge
            for n, one in zip(cells, curves, strict=True)
        ]
    )
    return sweeps, scales, truth


def ways(kind: str) -> dict[str, Callable[[list[Sweep]], Array]]:
    own: Callable[[list[Sweep]], Array] = fit_each
    if kind == "joint":
        own = fit_jointly
    return {"this program": own, "fit_sandia_simple": sandia, "scipy curve_fit": scipy_fit}


def five(fit: ParameterFit) -> list[float]:
    p = fit.parameters
    return [
        float(x)
        for x in (
            p.photocurrent,
            p.saturation_current,
            p.resistance_series,
            p.resistance_shunt,
            p.nNsVth,
        )
    ]


def fit_each(sweeps: list[Sweep]) -> Array:
    return np.array([five(fit) for fit in fit_parameters_of_many(sweeps)])


def fit_jointly(sweeps: list[Sweep]) -> Array:
    return np.array([five(fit_parameters_jointly(sweeps))])


def sandia(sweeps: list[Sweep]) -> Array:
    out = []
    for voltage, current in sweeps:
        try:
            out.append(fit_sandia_simple(voltage, np.maximum(current, 0.0)))
        except (RuntimeError, ValueError, IndexError):
            out.append([np.nan] * 5)
    return np.array(out)


def scipy_fit(sweeps: list[Sweep]) -> Array:
    out = []
    for voltage, current in sweeps:
        v_oc, i_sc = voltage.max(), current.max()
        start = [i_sc, np.log(i_sc) - 22.0, 0.02 * v_oc / i_sc, 50.0 * v_oc / i_sc, v_oc / 22.0]
        try:
            best, _ = curve_fit(
                lambda v, photo, log_sat, series, shunt, a: i_from_v(
                    v, photo, np.exp(log_sat), series, shunt, a
                ),
                voltage,
                current,
                p0=start,
                bounds=([0, -80, 0, 0, 1e-3], [np.inf, 0, np.inf, np.inf, np.inf]),
                x_scale=np.abs(start),
                maxfev=2000,
            )
            best[1] = np.exp(best[1])
        except (RuntimeError, ValueError):
            best = [np.nan] * 5
        out.append(best)
    return np.array(out)


def report(name: str, found: Array, truth: Array, milliseconds: float) -> None:
    """The worst curve of a case with one truth each; the error of the median otherwise."""
    lost = int(np.count_nonzero(np.isnan(found).any(axis=1)))
    if len(truth) == 1:
        found = np.nanmedian(found, axis=0, keepdims=True)
    error = np.abs(found / truth - 1.0)
    worst = np.nanmax(error, axis=0)
    total = float(np.nanmax(error.sum(axis=1)))
    text = "".join(f"{value:20.3g}" for value in (*worst, total))
    note = f"   ({lost} without result)" if lost else ""
    print(f"{name:22}{text}{milliseconds:10.2f}{note}")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        print("Name one folder: bench_parameter_fit.py FOLDER", file=sys.stderr)
        raise SystemExit(2)
    raise SystemExit(main(Path(sys.argv[1])))
