"""Files changed at random, for as long as one likes:
python -m tests.benchmarks.fuzz_reading [SECONDS] [SEED].

Each must give traces or sentences, within the reader's time and a bound of memory; traces must come
through the analysis without a warning. What does not is printed with its seed and kept beside the
temporary files.
"""

import random
import resource
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path

from tests.reading.mutations import assert_readable_or_told, mutated, samples
from viewer.analysis.batch import analyze_traces, neighbour_groups
from viewer.reading.file_reading import FileReading, read_data
from viewer.reading.notation.limits import MOST_SECONDS, SECONDS_LIMIT
from viewer.site_data.site_layout import SiteLayout

MEMORY = 3_000_000_000
"""Bytes of address space beyond which Python raises MemoryError."""
ANALYSED = 0.1
"""Share of the files whose traces are analysed too: that takes longer than reading them."""


def main(seconds: float = 60.0, seed: int = 1) -> int:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    warnings.simplefilter("error", RuntimeWarning)
    given = samples()
    ends: Counter[str] = Counter()
    slowest: dict[str, float] = {}
    found = 0
    until = time.monotonic() + seconds
    number = 0
    while time.monotonic() < until:
        number += 1
        rng = random.Random(f"{seed} {number}")
        name = rng.choice(list(given))
        data = mutated(name, given[name], rng, list(given.values()))
        began = time.thread_time()
        try:
            reading = read_data(data, name)
            took = time.thread_time() - began
            assert took < SECONDS_LIMIT + MOST_SECONDS, f"took {took:.1f} s"
            assert_readable_or_told(reading, name)
            if rng.random() < ANALYSED:
                analyse(reading)
            ends["traces" if reading.traces else "sentence"] += 1
        except Exception:  # noqa: BLE001  whatever it is, it is what is looked for
            found += 1
            took = time.thread_time() - began
            kept = Path(tempfile.gettempdir()) / f"fuzz_{seed}_{number}_{name}"
            kept.write_bytes(data)
            print(f"{kept}\n{traceback.format_exc(limit=-4)}", flush=True)
        slowest[name] = max(slowest.get(name, 0.0), took)
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{number} files, seed {seed}: {dict(ends)}, {found} found; most memory {most:.0f} MiB")
    print("slowest, s: " + ", ".join(f"{name} {took:.2f}" for name, took in slowest.items()))
    return 1 if found else 0


def analyse(reading: FileReading) -> None:
    """Every trace has an outcome."""
    groups = neighbour_groups(reading.traces)
    outcomes = [one for part in analyze_traces(groups, SiteLayout("", {}, ())) for one in part]
    assert len(outcomes) == len(reading.traces)


if __name__ == "__main__":
    sys.exit(main(*(float(word) for word in sys.argv[1:2]), *(int(word) for word in sys.argv[2:])))
