"""Times of the window: run `python -m tests.benchmarks.bench_window`.

Beside the overlay of 1,000 curves as the window draws them stands the plain way of the same
plotting library, one item a curve.
"""

import os
import resource
import statistics
import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import pyqtgraph as pg
from PySide6.QtWidgets import QApplication

from tests.invented_results import InventedOpener, invented_layout, invented_result
from viewer.analysis.results.trace_result import TraceResult
from viewer.app.window.main_window import MainWindow
from viewer.state.program.jobs import Job, Progress, Step
from viewer.state.program.settings import Settings
from viewer.state.session import Arrival, Session
from viewer.widgets.controls.job_runner import JobRunner
from viewer.widgets.controls.theme import Look


def milliseconds(work: Callable[[], object], repeat: int) -> list[float]:
    times = []
    for _ in range(repeat):
        start = time.perf_counter()
        work()
        times.append(1000 * (time.perf_counter() - start))
    return times


def report(name: str, times: list[float], target: str = "") -> None:
    times = sorted(times)
    worst = times[int(0.95 * (len(times) - 1))]
    print(f"{name:<58} median {statistics.median(times):8.1f} ms  p95 {worst:8.1f} ms  {target}")


def many_results(combiners: int, strings: int) -> list[TraceResult]:
    """Results of many strings; a hundred different curves are computed and shared out."""
    models = [invented_result("", "", loss=0.0009 * one) for one in range(100)]
    return [
        named(models[(7 * box + one) % 100], f"C{box}", f"S{one}")
        for box in range(1, combiners + 1)
        for one in range(1, strings + 1)
    ]


def named(result: TraceResult, combiner: str, string: str) -> TraceResult:
    source = f"2024/{combiner}/{string}.csv"
    trace = replace(result.trace, source=source, combiner=combiner, string=string)
    return replace(result, trace=trace)


def opened_window(combiners: int, strings: int) -> tuple[MainWindow, Session]:
    results = many_results(combiners, strings)
    session = Session(
        InventedOpener(results, invented_layout(combiners, strings), batch=1000), Settings()
    )
    session.open(Path("/invented"))
    window = MainWindow(session, Look(session.settings))
    window.resize(1600, 1000)
    window.show()
    paint(window)
    return window, session


def paint(window: MainWindow) -> None:
    """Let every queued change be laid out and painted now."""
    for _ in range(3):
        QApplication.processEvents()


def bench_selection(window: MainWindow, session: Session) -> None:
    ids = [one.trace.source for one in session.results]
    turn = iter(range(10**9))

    def one_string() -> None:
        session.selection.choose([ids[(37 * next(turn)) % len(ids)]])
        paint(window)

    milliseconds(one_string, 5)
    report("select one string, all panes painted", milliseconds(one_string, 60), "target 50 ms")

    def six_strings() -> None:
        first = (41 * next(turn)) % (len(ids) - 6)
        session.selection.choose(ids[first : first + 6])
        paint(window)

    report("select six strings, all panes painted", milliseconds(six_strings, 30))


def bench_beside_a_job(window: MainWindow, session: Session) -> None:
    """What people feel while a site is opened: a job that computes in Python all the time."""
    ids = [one.trace.source for one in session.results]
    turn = iter(range(10**9))
    ended = threading.Event()

    def steps() -> Iterator[Step]:
        while not ended.is_set():
            sum(number * number for number in range(10_000))
            yield Step(Progress())

    def one_string() -> None:
        session.selection.choose([ids[(37 * next(turn)) % len(ids)]])
        paint(window)

    for name, interval in (("", None), (", turns of 5 ms as Python has them", 0.005)):
        before = session.jobs.runner
        session.jobs.runner = runner = JobRunner()
        session.jobs.start(Job("Computing", steps, lambda _: None))
        if interval is not None:
            sys.setswitchinterval(interval)
        milliseconds(one_string, 3)
        report(f"the same beside a computing job{name}", milliseconds(one_string, 30))
        ended.set()
        runner.finish()
        ended.clear()
        session.jobs.runner = before
    JobRunner()


def bench_pan(window: MainWindow, session: Session) -> None:
    ids = [one.trace.source for one in session.results][:1000]
    report(
        "overlay 1,000 curves (I-V and P-V)",
        milliseconds(lambda: (session.selection.choose(ids), paint(window)), 1),
    )
    view = window.plot.canvas.panels["iv"].plot.vb
    turn = iter(range(10**9))

    def pan() -> None:
        view.translateBy(x=(-1) ** next(turn) * 3.0)
        window.plot.canvas.viewport().repaint()

    milliseconds(pan, 5)
    report("pan 1,000 curves in two panels, a frame", milliseconds(pan, 60), "target 16 ms")

    def zoom() -> None:
        view.scaleBy(x=0.97 if next(turn) % 2 else 1 / 0.97)
        window.plot.canvas.viewport().repaint()

    report("zoom 1,000 curves in two panels, a frame", milliseconds(zoom, 60))
    session.choices.panels.value = ("iv",)
    paint(window)
    view = window.plot.canvas.panels["iv"].plot.vb
    report("pan 1,000 curves in one panel, a frame", milliseconds(pan, 60), "target 16 ms")
    session.choices.panels.value = ("iv", "pv")
    session.selection.choose(ids[:1])


def bench_plain_items(session: Session) -> None:
    plot = pg.PlotWidget()
    plot.resize(980, 600)
    for result in session.results[:1000]:
        plot.plot(result.measured_curve.voltage, result.measured_curve.current, pen="b")
    plot.show()
    QApplication.processEvents()
    turn = iter(range(10**9))

    def pan() -> None:
        plot.getViewBox().translateBy(x=(-1) ** next(turn) * 3.0)
        plot.viewport().repaint()

    milliseconds(pan, 2)
    report("peer: pan 1,000 pyqtgraph items in one panel, a frame", milliseconds(pan, 10))
    plot.close()


def bench_list(window: MainWindow, session: Session) -> None:
    strings = window.pane("strings")
    keys = iter(["power_ratio", "standing", "combiner"] * 10)
    name = f"string list of {len(session.results):,}: "
    report(name + "sort", milliseconds(lambda: strings.sort_by(next(keys)), 6))

    def filter_by(words: str) -> None:
        strings.words.setText(words)
        strings.arrange()
        QApplication.processEvents()

    words = iter(["C1", "short", "C19 S4", ""] * 5)
    report(name + "filter", milliseconds(lambda: filter_by(next(words)), 8))
    bar = strings.view.verticalScrollBar()
    turn = iter(range(10**9))

    def scroll() -> None:
        bar.setValue((971 * next(turn)) % max(1, bar.maximum()))
        strings.view.viewport().repaint()

    report(name + "scroll, a frame", milliseconds(scroll, 60), "target 16 ms")
    part = session.results[:100]
    report(
        name + "100 more arrive",
        milliseconds(lambda: (session.take([Arrival(results=part)]), paint(window)), 5),
    )


def bench_memory(window: MainWindow, session: Session) -> None:
    ids = [one.trace.source for one in session.results]
    used = []
    for turn in range(600):
        session.selection.choose(ids[turn % 500 : turn % 500 + 1 + turn % 5])
        paint(window)
        if turn in (99, 599):
            used.append(resident_megabytes())
    print(f"{'memory after 100 and after 600 selections':<58} {used[0]:.1f} MB, {used[1]:.1f} MB")


def resident_megabytes() -> float:
    try:
        pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
        return pages * resource.getpagesize() / 1e6
    except OSError:
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3


def main() -> None:
    application = QApplication.instance() or QApplication(sys.argv[:1])
    small, session = opened_window(8, 16)
    bench_selection(small, session)
    bench_beside_a_job(small, session)
    bench_memory(small, session)
    small.close()
    many, session = opened_window(63, 16)
    bench_pan(many, session)
    bench_plain_items(session)
    many.close()
    start = time.perf_counter()
    large, session = opened_window(1000, 20)
    print(f"{'20,000 results made, taken and shown':<58} {time.perf_counter() - start:8.1f} s")
    bench_selection(large, session)
    bench_list(large, session)
    large.close()
    application.quit()


if __name__ == "__main__":
    main()
