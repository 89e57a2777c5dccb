"""A large site from files to results: python -m tests.benchmarks.bench_bulk [TRACES] [RUNS].

The files are made by pvlib (single-diode curves with noise), one in twenty strings with a
fault that needs the richer fits; reading them with pandas alone stands beside the whole. Each run
is a process of its own, as the command line's is. Computing time is told beside the time on the
clock, because a busy machine lengthens it less.
"""

import json
import multiprocessing
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from viewer.analysis.results.trace_result import TraceResult
from viewer.state.visit_opening import open_site

POINTS = 200

MODULES = 24
STRINGS_A_COMBINER = 16
SITE = """name = "Bulk (invented)"
[module.M]
technology = "mono-Si"
i_sc = 10.0
v_oc = 48.0
i_mp = 9.5
v_mp = 40.0
alpha_sc = 0.05
beta_voc = -0.28
gamma_pmp = -0.36
cells_in_series = 72
"""


def make_site(folder: Path, traces: int, points: int, seed: int = 1) -> None:
    """Writes site.toml and the trace files."""
    import pvlib  # not above: the worker processes load this module too

    rng = np.random.default_rng(seed)
    fit = pvlib.ivtools.sdm.fit_desoto(
        40.0, 9.5, 48.0, 10.0, 0.005, -0.1344, 72, root_kwargs={"method": "lm"}
    )[0]
    text = [SITE]
    for number in range(traces):
        box, place = divmod(number, STRINGS_A_COMBINER)
        if place == 0:
            text.append(f'[[combiner]]\nname = "B{box:04d}"\n')
        text.append(
            f'  [[combiner.string]]\n  name = "S{place:02d}"\n  module = "M"\n'
            f"  modules_in_series = {MODULES}\n"
        )
        _write_trace(folder / f"B{box:04d}", f"S{place:02d}", fit, rng, points, number)
    (folder / "site.toml").write_text("".join(text), encoding="utf-8")


def _write_trace(
    folder: Path, name: str, fit: dict, rng: np.random.Generator, points: int, number: int
) -> None:
    import pvlib

    folder.mkdir(exist_ok=True)
    poa, cell = rng.uniform(700, 1050), rng.uniform(30, 60)
    five = pvlib.pvsystem.calcparams_desoto(
        poa,
        cell,
        fit["alpha_sc"],
        fit["a_ref"],
        fit["I_L_ref"],
        fit["I_o_ref"],
        fit["R_sh_ref"],
        fit["R_s"],
    )
    v_oc = pvlib.singlediode.bishop88_v_from_i(0.0, *five)
    current, voltage, _ = pvlib.singlediode.bishop88(np.linspace(0.0, v_oc, points), *five)
    voltage = voltage * MODULES
    if number % 20 == 0:  # one bypass group in a module limited to two thirds of the current
        voltage = voltage - np.where(current > 0.66 * float(five[0]), voltage / MODULES / 3, 0)
    keep = voltage > 0
    v = voltage[keep] * (1 + 5e-4 * rng.standard_normal(keep.sum()))
    i = current[keep] * (1 + 1e-3 * rng.standard_normal(keep.sum()))
    lines = [
        f"# combiner: {folder.name}",
        f"# string: {name}",
        f"# measured_at: 2025-06-{1 + number % 9:02d}T{10 + number % 5}:00:00+02:00",
        f"# poa_global: {poa:.1f}",
        f"# temperature_cell: {cell:.1f}",
        "voltage,current",
        *(f"{a:.3f},{b:.4f}" for a, b in zip(v, i, strict=True)),
    ]
    (folder / f"{name}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def main(traces: int = 20_000, runs: int = 3) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        make_site(folder, traces, POINTS)
        by_pandas = read_by_pandas(folder)
        command = [sys.executable, "-m", "tests.benchmarks.bench_bulk", "measure", name]
        said = [json.loads(subprocess.check_output(command)) for _ in range(runs)]
    print(f"{traces} traces of {POINTS} points, {runs} runs: least, median, most")
    print(f"{'reading alone with pandas, s':34s}{by_pandas:9.1f}")
    for what in said[0]:
        values = [one[what] for one in said]
        print(f"{what:34s}{min(values):9.1f}{statistics.median(values):9.1f}{max(values):9.1f}")


def read_by_pandas(folder: Path) -> float:
    """Seconds in which pandas reads all files, one after the other."""
    import pandas as pd

    began = time.perf_counter()
    for file in folder.rglob("*.csv"):
        pd.read_csv(file, comment="#")
    return time.perf_counter() - began


def measure(folder: Path) -> dict[str, float]:
    """One run in this process."""
    began = time.perf_counter()
    read = 0.0
    results: list[TraceResult] = []
    for progress, arrival in open_site(folder):
        results += arrival.results
        if progress.text == "reading":
            read = time.perf_counter() - began
    whole = time.perf_counter() - began
    own = resource.getrusage(resource.RUSAGE_SELF)
    for process in multiprocessing.active_children():
        process.join()
    workers = resource.getrusage(resource.RUSAGE_CHILDREN)
    computing = own.ru_utime + own.ru_stime + workers.ru_utime + workers.ru_stime
    return {
        "files to results, s": whole,
        "  until everything is read, s": read,
        "  a trace, ms": 1000 * whole / len(results),
        "computing time, all processes, s": computing,
        "results": len(results),
        "with a finding": sum(_has_finding(one) for one in results),
        "peak memory, main process, MiB": own.ru_maxrss / 1024,
        "peak memory, largest worker, MiB": workers.ru_maxrss / 1024,
    }


def _has_finding(result: TraceResult) -> bool:
    return any(one.cause != "none" for one in result.candidate_causes)


if __name__ == "__main__":
    if sys.argv[1:2] == ["measure"]:
        print(json.dumps(measure(Path(sys.argv[2]))))
    else:
        main(*(int(word) for word in sys.argv[1:]))
