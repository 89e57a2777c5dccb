"""Reports of 100 and 500 strings, each string with its plot: time, pages, size, step by step.

No peer is measured: the yardstick is the target of 20 s for 100 strings, which counts from
results in memory to a closed file. Reading and analysing the traces come before it and are
measured by bench_batch. "longest step" is how long a press on Cancel can go unheard.

    python tests/benchmarks/bench_report.py
"""

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

os.environ.setdefault("OMP_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.reports.report_orders import many_layout, many_results, order
from viewer.state.reporting.report_making import KINDS, write_report


def pages(path: Path) -> str:
    said = subprocess.run(["pdfinfo", str(path)], capture_output=True, text=True, check=True)
    return next(line.split()[-1] for line in said.stdout.splitlines() if "Pages" in line)


def main() -> None:
    print(f"load average at the start: {os.getloadavg()[0]:.2f}, {os.cpu_count()} cores")
    print("strings  document         file      seconds  longest step s  pages    MB")
    with tempfile.TemporaryDirectory() as folder:
        for count in (1, 100, 500):
            results, layout = many_results(count), many_layout(count)
            for kind in KINDS if count == 100 else ("recommendations",):
                for suffix in (".pdf", ".xlsx"):
                    path = Path(folder) / f"{kind}{suffix}"
                    began = last = time.perf_counter()
                    longest = 0.0
                    for _ in write_report(order(kind, results, layout), [path]):
                        now = time.perf_counter()
                        longest, last = max(longest, now - last), now
                    total = time.perf_counter() - began
                    sheets = pages(path) if suffix == ".pdf" else "–"
                    size = path.stat().st_size / 1e6
                    print(
                        f"{count:7}  {kind:15}  {suffix:6}  {total:9.2f}  {longest:14.2f}"
                        f"  {sheets:>5}  {size:4.2f}"
                    )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"largest memory: {peak:.0f} MiB")


if __name__ == "__main__":
    main()
