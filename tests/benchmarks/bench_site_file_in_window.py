"""How soon the window lists a site file of 20,000 traces, and when its results are there.

Run as `QT_QPA_PLATFORM=offscreen python -m tests.benchmarks.bench_site_file_in_window`. The time
runs from asking the session to open the file until the string list has its rows; then until the
last result has arrived; then what the panes about the years need. The longest time in which the
window did not answer is measured by a timer of 10 ms; what of it the window's thread computed, and
how long it stood ready while others had the processors, stands beside. The sweeps are those of
sound strings, one in twenty with a stair: sweeps that no string gives would each be searched for
causes, many times as long. The peer, in the same run, is pandas.read_sql of the same list (traces,
conditions, key numbers).
"""

import os
import sqlite3
import tempfile
import time
from dataclasses import replace
from functools import partial
from pathlib import Path

import pandas as pd
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from tests.benchmarks.site_file_speed import LAYOUT, invented_files
from tests.benchmarks.thread_times import seconds_waited
from viewer.app.window.collection_pauses import CollectionPauses
from viewer.app.window.later_imports import load_later
from viewer.app.window.main_window import MainWindow
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.site_data.site_file.connection import create_site_file
from viewer.site_data.site_file.importing import import_files
from viewer.site_data.site_file.stored_results import KeyNumbers, store_results
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.state.visit_opening import open_site
from viewer.widgets.controls.job_runner import JobRunner
from viewer.widgets.controls.theme import Look

QUERY = (
    "SELECT * FROM current_traces JOIN conditions ON conditions.trace_id = id "
    "JOIN results ON results.trace_id = id"
)


class Pulse:
    """The longest time between two beats of a timer in the window's thread."""

    def __init__(self) -> None:
        self._longest = (0.0, 0.0, 0.0)
        self._last = self._now()
        self._timer = QTimer()
        self._timer.timeout.connect(self._beat)
        self._timer.start(10)

    @staticmethod
    def _now() -> tuple[float, float, float]:
        return time.perf_counter(), time.thread_time(), seconds_waited()

    def _beat(self) -> None:
        now = self._now()
        passed, computed, waited = (a - b for a, b in zip(now, self._last, strict=True))
        self._longest = max(self._longest, (passed, computed, waited))
        self._last = now

    def take(self) -> str:
        """In words; counted from here on again."""
        passed, computed, waited = (1000 * one for one in self._longest)
        self._longest = (0.0, 0.0, 0.0)
        return (
            f"longest without an answer {passed:.0f} ms, of it computed {computed:.0f}, "
            f"waited for a processor {waited:.0f}"
        )


def write_file(path: Path) -> None:
    points = KeyPoints(9.5, 1090.0, 9.0, 900.0, 8100.0, 0.782)
    with create_site_file(path) as site_file:
        outcome = import_files(
            site_file, LAYOUT, invented_files(), folder="invented", program_version="benchmark"
        )
        numbers = [
            KeyNumbers(number, points, replace(points, p_mp=8000.0), 900.0, 48.0, 0.98)
            for number in outcome.trace_ids
        ]
        store_results(site_file, numbers, program_version="benchmark")


def main() -> None:
    application = QApplication([])
    session = Session(partial(open_site, behind_window=True), Settings(theme="light"))
    runner = JobRunner()
    session.jobs.runner = runner
    window = MainWindow(session, Look(session.settings))
    CollectionPauses(window, session)
    window.resize(1680, 1000)
    window.show()
    load_later().join()
    strings = window.pane("strings")

    def until(done, limit: float = 900.0) -> float:
        start = time.perf_counter()
        while not done() and time.perf_counter() - start < limit:
            application.processEvents()
            time.sleep(0.001)
        return time.perf_counter() - start

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "field.curvewright"
        write_file(path)
        start = time.perf_counter()
        with sqlite3.connect(path) as connection:
            count = len(pd.read_sql(QUERY, connection))
        print(f"pandas.read_sql of {count} rows: {time.perf_counter() - start:.2f} s")
        until(lambda: False, 0.5)
        pulse = Pulse()
        start = time.perf_counter()
        session.open(path)
        until(lambda: strings.model.rowCount() > 0)
        rows = strings.model.rowCount()
        print(
            f"listed, {rows} rows of the newest visit shown of "
            f"{sum(1 for _ in session.rows)}: {time.perf_counter() - start:.2f} s; "
            f"{pulse.take()}"
        )
        until(lambda: not session.is_loading)
        loaded = time.perf_counter() - start
        until(lambda: False, 0.3)  # what follows the last of them counts with them
        print(f"{len(session.results)} results: {loaded:.1f} s; {pulse.take()}")
        start = time.perf_counter()
        window.docks.show("years")
        until(lambda: session.years.found is not None)
        until(lambda: False, 0.3)
        print(f"rates over the years: {time.perf_counter() - start - 0.3:.1f} s; {pulse.take()}")
        for name in ("changes", "sample", "warranty"):
            start = time.perf_counter()
            window.docks.show(name)
            until(lambda: False, 0.3)
            print(f"pane {name}: {pulse.take()}")
        runner.finish()
    window.close()


if __name__ == "__main__":
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    main()
