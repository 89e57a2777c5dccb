"""How long the lesson takes from a moved slider to the painted window, for a 28-module string.

Run with: python -m tests.benchmarks.bench_lesson
Each line is one scenario on one of the lesson's strings; every step moves one slider, which
solves the string, and waits until plot, schematic and words have been painted. Beside it, what
solving the string alone takes; "busy" is the processor's time in the update, which does not
count what other programs take from it. Target: 16 ms an update (one frame at 60 a second).
"""

import os
import time

import numpy as np

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtWidgets import QApplication

from viewer.state.lesson.lesson import Lesson
from viewer.state.lesson.lesson_strings import LessonString
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.widgets.controls.house_style import dress
from viewer.widgets.controls.theme import Look
from viewer.widgets.lesson.knob_slider import KnobSlider
from viewer.widgets.lesson.lesson_pane import LessonPane

TARGET = 16.0
MODULES = 28
STEPS = 40
COLUMNS = ("median", "90 %", "worst", "busy", "solving")
HEADING = f"{'scenario':<28}{'slider':<13}" + "".join(f"{one:>9}" for one in COLUMNS) + "  ms"


def moved(pane: LessonPane, slider: KnobSlider) -> tuple[np.ndarray, ...]:
    """Milliseconds of each update, of the processor in it, and of solving the string alone."""
    places = np.linspace(0, slider.slider.maximum(), min(STEPS, slider.slider.maximum() + 1))
    whole, busy, solving = [], [], []
    for place in places.round().astype(int).tolist():
        start, before = time.perf_counter(), time.process_time()
        slider.slider.setValue(place)
        QApplication.processEvents()
        whole.append(1000 * (time.perf_counter() - start))
        busy.append(1000 * (time.process_time() - before))
        start = time.perf_counter()
        pane.lesson._simulate()
        solving.append(1000 * (time.perf_counter() - start))
    return np.array(whole[1:]), np.array(busy[1:]), np.array(solving[1:])


def bench_string(pane: LessonPane, string: LessonString) -> np.ndarray:
    """A line for each scenario and slider; all updates of the string, elapsed and busy."""
    pane.lesson.string.value = string
    print(f"\n{string.title}, {string.modules_in_series} modules")
    print(HEADING)
    every = []
    for key in pane.lesson.scenarios:
        pane.lesson.choose(key)
        QApplication.processEvents()
        page = pane.explore
        sliders = {
            "severity": page.knobs.severity,
            "extent": page.knobs.extent,
            "irradiance": page.irradiance if key == "hard_shade" else None,
            "temperature": page.temperature if key == "hard_shade" else None,
        }
        for name, slider in sliders.items():
            if slider is None:
                continue
            before = slider.value()
            whole, busy, solving = moved(pane, slider)
            slider.box.setValue(before)
            every.append((whole, busy))
            print(
                f"{key:<28}{name:<13}{np.median(whole):9.1f}{np.quantile(whole, 0.9):9.1f}"
                f"{whole.max():9.1f}{np.median(busy):9.1f}{np.median(solving):9.1f}"
            )
    return np.hstack(every)


def main() -> None:
    application = QApplication([])
    session = Session(lambda _: iter(()), Settings(theme="light"))
    look = Look(session.settings)
    dress(application, look.theme.value)
    start = time.perf_counter()
    pane = LessonPane(session, look)
    pane.resize(1600, 900)
    pane.show()
    QApplication.processEvents()
    print(f"lesson opened in {1000 * (time.perf_counter() - start):.0f} ms")
    for string in Lesson().strings.value:
        same = LessonString(string.title.split(" ", 1)[1], string.datasheet, MODULES)
        pane.lesson.strings.value = (*pane.lesson.strings.value, same)
        for name, times in zip(("elapsed", "busy"), bench_string(pane, same), strict=True):
            within = 100 * float(np.mean(times <= TARGET))
            print(
                f"all, {name}: median {np.median(times):.1f} ms, 90 % within "
                f"{np.quantile(times, 0.9):.1f} ms; {within:.1f} % within {TARGET:.0f} ms"
            )


if __name__ == "__main__":
    main()
