"""2,000 random actions of a seeded user: `python -m tests.benchmarks.bench_endurance [SEED [N]]`.

Prints what was raised, times by kind of action, the slowest of all by name, and how memory, the
number of widgets and of listeners grew. An action's time runs until the events it caused are
worked off; how much of it the window's own thread computed, and how long it stood ready while other
programs had the processors (Linux tells), stands beside, for busy machines.
"""

import gc
import os
import sys
import tempfile
import time
import traceback
from dataclasses import dataclass
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PySide6.QtWidgets import QApplication, QFileDialog

from tests.benchmarks.bench_window import resident_megabytes
from tests.benchmarks.thread_times import seconds_waited
from tests.invented_results import InventedOpener, invented_visits
from tests.random_user import RandomUser
from viewer.app.window.collection_pauses import CollectionPauses
from viewer.app.window.later_imports import load_later
from viewer.app.window.main_window import MainWindow
from viewer.state.opening.work_elsewhere import WorkElsewhere
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.widgets.controls.job_runner import JobRunner
from viewer.widgets.controls.theme import Look

ACTIONS = 2000
FREEZE = 0.2
LOOKS = 8
"""How often memory is looked at."""


@dataclass(frozen=True)
class Deed:
    seconds: float
    computed: float
    waited: float
    """For a processor."""
    kind: str
    which: str
    number: int


def print_growth(number: int, session: Session) -> None:
    gc.collect()
    print(
        f"after {number:>5} actions: {resident_megabytes():.0f} MB, "
        f"{len(QApplication.allWidgets())} widgets, "
        f"{len(session.selection.changed)} listeners on the selection"
    )


def print_times(deeds: list[Deed]) -> None:
    kinds = sorted({one.kind for one in deeds})
    print(f"{'ms':<24}{'count':>7}{'median':>9}{'p99':>9}{'max':>9}{'computed':>10}")
    for kind in (*kinds, "all"):
        chosen = [one for one in deeds if kind in (one.kind, "all")]
        middle, late, worst = np.percentile([1000 * one.seconds for one in chosen], [50, 99, 100])
        computed = 1000 * max(one.computed for one in chosen)
        print(f"{kind:<24}{len(chosen):>7}{middle:9.1f}{late:9.1f}{worst:9.1f}{computed:10.1f}")
    slow = sorted(deeds, key=lambda one: -one.seconds)
    freely = sum(one.seconds - one.waited > FREEZE for one in deeds)
    print(
        f"over {1000 * FREEZE:.0f} ms: {sum(one.seconds > FREEZE for one in deeds)}, "
        f"without the waiting for a processor {freely}, "
        f"computing so long {sum(one.computed > FREEZE for one in deeds)}; the slowest:"
    )
    for one in slow[:10]:
        print(
            f"  {1000 * one.seconds:7.1f} ms, computed {1000 * one.computed:7.1f}, "
            f"waited {1000 * one.waited:7.1f}  "
            f"{one.kind} {one.which} (number {one.number})"
        )


def main(seed: int, actions: int) -> None:
    application = QApplication.instance() or QApplication(sys.argv[:1])
    raised: list[str] = []
    sys.excepthook = lambda *problem: raised.append("".join(traceback.format_exception(*problem)))
    session = Session(InventedOpener(invented_visits()), Settings())
    runner = JobRunner()
    session.jobs.runner = runner
    session.jobs.elsewhere = elsewhere = WorkElsewhere()
    session.open(Path("/invented"))
    window = MainWindow(session, Look(session.settings))
    window.resize(1280, 720)
    window.show()
    CollectionPauses(window, session)
    load_later(elsewhere.start).join()
    deeds: list[Deed] = []
    with tempfile.TemporaryDirectory() as folder:
        user = RandomUser(window, session, Path(folder), seed)
        QFileDialog.getSaveFileName = lambda *_, **__: (user.chosen_path(), "(*.png)")
        QFileDialog.getOpenFileName = lambda *_, **__: (user.chosen_path(), "")
        QFileDialog.getExistingDirectory = lambda *_, **__: user.chosen_path()
        for number in range(1, actions + 1):
            begun, waited = time.thread_time(), seconds_waited()
            try:
                kind, which, seconds = user.act()
            except Exception:  # noqa: BLE001 (counted and printed like those that Qt reports)
                raised.append(traceback.format_exc())
                continue
            computed, waited = time.thread_time() - begun, seconds_waited() - waited
            deeds.append(Deed(seconds, computed, waited, kind, which, number))
            if number % max(1, actions // LOOKS) == 0:
                print_growth(number, session)
    print(f"seed {seed}: {len(raised)} exceptions in {actions} actions")
    print_times(deeds)
    for text in dict.fromkeys(raised):
        print(text)
    window.close()
    runner.finish()
    elsewhere.close()
    application.quit()


if __name__ == "__main__":
    asked = [int(one) for one in sys.argv[1:3]]
    main(*(asked + [1, ACTIONS][len(asked) :]))
