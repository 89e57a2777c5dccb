"""How long the program takes to start: a new interpreter until its window waits for its user.

Run: `python -m tests.benchmarks.bench_start [REPEATS]`. No display is needed. The first of the
starts reads files that the others find in memory; it is printed apart. Beside it, in the same
run, what the interpreter takes to import only what a window of this kind cannot do without.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time

TARGET = 2.0
WINDOW = """
import sys, time
begun = float(sys.argv[1])
import importlib
from viewer.app.window.window_start import WINDOW_RUN_MODULE
module = importlib.import_module(WINDOW_RUN_MODULE)
loaded = time.time()
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
application = QApplication([])
def shown():
    print(time.time() - begun, loaded - begun)
    application.quit()
QTimer.singleShot(0, shown)
module.run_window(None)
"""
FLOOR = """
import sys, time
begun = float(sys.argv[1])
import numpy, PySide6.QtWidgets, pyqtgraph
print(time.time() - begun, time.time() - begun)
"""


def seconds(program: str) -> tuple[float, float]:
    with tempfile.TemporaryDirectory() as home:
        places = {"XDG_CONFIG_HOME": home, "XDG_STATE_HOME": home, "XDG_CACHE_HOME": home}
        ran = subprocess.run(
            [sys.executable, "-c", program, str(time.time())],
            env={**os.environ, **places, "QT_QPA_PLATFORM": "offscreen"},
            check=True,
            capture_output=True,
            text=True,
        )
    whole, loading = map(float, ran.stdout.split())
    return whole, loading


def main(repeats: int) -> None:
    first, _ = seconds(WINDOW)
    print(f"{'first start of this run':<52} {first:6.2f} s")
    for title, program in (
        ("start until the window waits", WINDOW),
        ("imports alone of numpy, Qt's widgets and pyqtgraph", FLOOR),
    ):
        times = [seconds(program) for _ in range(repeats)]
        whole = statistics.median(one for one, _ in times)
        worst = max(one for one, _ in times)
        loading = statistics.median(one for _, one in times)
        print(f"{title:<52} {whole:6.2f} s  worst {worst:5.2f} s  of it imports {loading:5.2f} s")
    print(f"target {TARGET} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
