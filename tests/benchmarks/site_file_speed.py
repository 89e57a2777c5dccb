"""How fast a site file of 20,000 traces is stored, opened and read.

Run as `python -m tests.benchmarks.site_file_speed`. Opening means: open the file, list every
trace with its key numbers, list the visits and read the layout, in a fresh process. The peer
is pandas.read_sql on the same file with the same query.
"""

import resource
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_file.connection import create_site_file, open_site_file
from viewer.site_data.site_file.importing import ImportedFile, import_files
from viewer.site_data.site_file.layout_rows import read_layout
from viewer.site_data.site_file.listing import list_traces, list_visits
from viewer.site_data.site_file.stored_results import KeyNumbers, store_results
from viewer.site_data.site_file.trace_rows import read_traces
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout

VISITS, COMBINERS, STRINGS, MODULES, POINTS = 4, 250, 20, 24, 200
YEARLY_LOSS = 0.005
SHEET = Datasheet("A", "mono-Si", 9.5, 45.5, 9.0, 37.5, 0.05, -0.29, -0.37, 72)
LAYOUT = SiteLayout(
    "Invented field",
    {"A": SHEET},
    tuple(
        Combiner(f"CB{box}", tuple(StringLayout(f"S{n}", "A", MODULES) for n in range(STRINGS)))
        for box in range(COMBINERS)
    ),
)


def invented_files() -> list[ImportedFile]:
    """One file a trace, with the text such a file would hold.

    Sweeps of sound strings by pvlib, as an analysis would meet them, at the conditions told with
    them and with noise; they lose half a percent a year, and one string in twenty has a bypass
    group limited to two thirds of the current.
    """
    random = np.random.default_rng(1)
    files = []
    for visit in range(VISITS):
        start = datetime(2020 + visit, 6, 1, 9)
        count = COMBINERS * STRINGS
        irradiance, cell = random.uniform(700, 1050, count), random.uniform(30, 60, count)
        sweeps = invented_sweeps(irradiance, cell, 1 - YEARLY_LOSS * visit)
        for number, (voltage, current) in enumerate(sweeps):
            if number % 20 == 0:
                limited = current > 2 / 3 * current.max()
                voltage = voltage - np.where(limited, voltage / MODULES / 3, 0)
            voltage = voltage * random.normal(1, 5e-4, voltage.size)
            current = current * random.normal(1, 1e-3, current.size)
            box, string = divmod(number, STRINGS)
            trace = Trace(
                f"{2020 + visit}/CB{box}/S{string}.csv",
                voltage,
                current,
                f"CB{box}",
                f"S{string}",
                start + timedelta(minutes=number),
                MeasuredConditions(
                    poa_global=float(irradiance[number]), temperature_cell=float(cell[number])
                ),
            )
            text = "\n".join(f"{v:.2f},{i:.3f}" for v, i in zip(voltage, current, strict=True))
            files.append(ImportedFile(trace.source, text.encode(), (trace,)))
    return files


def invented_sweeps(
    irradiance: NDArray[np.float64], cell: NDArray[np.float64], share: float
) -> list[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """Voltage (V) and current (A) of a string at each condition (W/m², °C) with a share of its
    photocurrent."""
    from pvlib.ivtools.sdm import fit_desoto  # not above: opening is timed without it
    from pvlib.pvsystem import calcparams_desoto
    from pvlib.singlediode import bishop88, bishop88_v_from_i

    alpha, beta = SHEET.alpha_sc * SHEET.i_sc / 100, SHEET.beta_voc * SHEET.v_oc / 100
    points = SHEET.v_mp, SHEET.i_mp, SHEET.v_oc, SHEET.i_sc, alpha, beta
    fit = fit_desoto(*points, SHEET.cells_in_series, root_kwargs={"method": "lm"})[0]
    names = ("alpha_sc", "a_ref", "I_L_ref", "I_o_ref", "R_sh_ref", "R_s")
    photo, *others = calcparams_desoto(irradiance, cell, *(fit[name] for name in names))
    five = [one + np.zeros_like(irradiance) for one in (share * photo, *others)]
    open_circuit = bishop88_v_from_i(np.zeros_like(irradiance), *five)
    diode = np.linspace(0.0, 1.0, POINTS)[:, None] * open_circuit
    current, voltage, _ = bishop88(diode, *five)
    sweeps = zip(MODULES * voltage.T, current.T, strict=True)
    return [(v[v > 0], i[v > 0]) for v, i in sweeps]


def open_once(path: Path) -> None:
    """What a window needs to show a site, timed from the opening of the file."""
    start = time.perf_counter()
    with open_site_file(path) as site_file:
        opened = time.perf_counter()
        listed = list_traces(site_file)
        visits = list_visits(site_file)
        layout = read_layout(site_file)
    done = time.perf_counter()
    strings = sum(len(box.strings) for box in layout.combiners)
    print(
        f"open {opened - start:.3f} s, list {len(listed)} traces with key numbers, "
        f"{len(visits)} visits and {strings} strings {done - opened:.3f} s, "
        f"together {done - start:.3f} s"
    )


def pandas_once(path: Path) -> None:
    import sqlite3

    import pandas as pd

    start = time.perf_counter()
    with sqlite3.connect(path) as connection:
        frame = pd.read_sql(
            "SELECT * FROM current_traces JOIN conditions ON conditions.trace_id = id "
            "JOIN results ON results.trace_id = id",
            connection,
        )
    print(f"pandas.read_sql of {len(frame)} rows {time.perf_counter() - start:.3f} s")


def main() -> None:
    files = invented_files()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "field.curvewright"
        with create_site_file(path) as site_file:
            start = time.perf_counter()
            outcome = import_files(
                site_file, LAYOUT, files, folder="invented", program_version="benchmark"
            )
            print(f"import {len(outcome.trace_ids)} traces {time.perf_counter() - start:.2f} s")
            points = KeyPoints(9.5, 1090.0, 9.0, 900.0, 8100.0, 0.782)
            start = time.perf_counter()
            store_results(
                site_file,
                [
                    KeyNumbers(number, points, replace(points, p_mp=8000.0), 900.0, 48.0, 0.98)
                    for number in outcome.trace_ids
                ],
                program_version="benchmark",
            )
            print(f"store their key numbers {time.perf_counter() - start:.2f} s")
        print(f"file {path.stat().st_size / 1e6:.1f} MB")
        for what in ("--open", "--open", "--open", "--pandas"):
            command = [sys.executable, "-m", "tests.benchmarks.site_file_speed", what, str(path)]
            subprocess.run(command, check=True)
        with open_site_file(path) as site_file:
            start = time.perf_counter()
            count = sum(trace.voltage.size for _, trace in read_traces(site_file))
            print(f"read all {count:,} points {time.perf_counter() - start:.2f} s")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory of the importing process {peak:.0f} MiB (it also holds the invented files)")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--open"]:
        open_once(Path(sys.argv[2]))
    elif sys.argv[1:2] == ["--pandas"]:
        pandas_once(Path(sys.argv[2]))
    else:
        main()
