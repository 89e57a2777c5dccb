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

from viewer.physics.key_points import KeyPoints
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_file.connection import create_site_file, open_site_file
from viewer.site_data.site_file.importing import ImportedFile, import_files
from viewer.site_data.site_file.layout_rows import read_layout
from viewer.site_data.site_file.listing import list_traces, list_visits
from viewer.site_data.site_file.stored_results import KeyNumbers, store_results
from viewer.site_data.site_file.trace_rows import read_traces
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout

VISITS, COMBINERS, STRINGS, POINTS = 4, 250, 20, 200
SHEET = Datasheet("A", "mono-Si", 9.5, 45.5, 9.0, 37.5, 0.05, -0.29, -0.37, 72)
LAYOUT = SiteLayout(
    "Invented field",
    {"A": SHEET},
    tuple(
        Combiner(f"CB{box}", tuple(StringLayout(f"S{n}", "A", 24) for n in range(STRINGS)))
        for box in range(COMBINERS)
    ),
)


def invented_files() -> list[ImportedFile]:
    """One file a trace, with the text such a file would hold."""
    random = np.random.default_rng(1)
    voltage = np.linspace(0, 1090, POINTS)
    files = []
    for visit in range(VISITS):
        start = datetime(2020 + visit, 6, 1, 9)
        for number in range(COMBINERS * STRINGS):
            current = 9.5 * (1 - (voltage / 1090) ** 12) + random.normal(0, 0.005, POINTS)
            box, string = divmod(number, STRINGS)
            trace = Trace(
                f"{2020 + visit}/CB{box}/S{string}.csv",
                voltage,
                current,
                f"CB{box}",
                f"S{string}",
                start + timedelta(minutes=number),
                MeasuredConditions(poa_global=900.0, temperature_module=45.0),
            )
            text = "\n".join(f"{v:.2f},{i:.3f}" for v, i in zip(voltage, current, strict=True))
            files.append(ImportedFile(trace.source, text.encode(), (trace,)))
    return files


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
