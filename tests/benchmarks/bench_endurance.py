"""2,000 random actions of a seeded user: `python -m tests.benchmarks.bench_endurance [SEED]`.

Prints what was raised, the slowest actions, and how memory and listeners grew.
"""

import os
import sys
import tempfile
import traceback
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtWidgets import QApplication, QFileDialog

from tests.benchmarks.bench_window import resident_megabytes
from tests.invented_results import InventedOpener, invented_visits
from tests.random_user import RandomUser
from viewer.app.main_window import MainWindow
from viewer.state.session import Session
from viewer.state.settings import Settings
from viewer.widgets.job_runner import JobRunner
from viewer.widgets.theme import Look

ACTIONS = 2000
FREEZE = 0.2


def main(seed: int) -> None:
    application = QApplication.instance() or QApplication(sys.argv[:1])
    raised: list[str] = []
    sys.excepthook = lambda *problem: raised.append("".join(traceback.format_exception(*problem)))
    session = Session(InventedOpener(invented_visits()), Settings())
    runner = JobRunner()
    session.jobs.runner = runner
    session.open(Path("/invented"))
    window = MainWindow(session, Look(session.settings))
    window.resize(1280, 720)
    window.show()
    times: list[tuple[float, str]] = []
    with tempfile.TemporaryDirectory() as folder:
        user = RandomUser(window, session, Path(folder), seed)
        QFileDialog.getSaveFileName = lambda *_, **__: (user.chosen_path(), "(*.png)")
        QFileDialog.getOpenFileName = lambda *_, **__: (user.chosen_path(), "")
        QFileDialog.getExistingDirectory = lambda *_, **__: user.chosen_path()
        for number in range(1, ACTIONS + 1):
            try:
                name, seconds = user.act()
            except Exception:  # noqa: BLE001 (counted and printed like those that Qt reports)
                raised.append(traceback.format_exc())
                continue
            times.append((seconds, name))
            if number in (200, ACTIONS // 2, ACTIONS):
                print(
                    f"after {number:>5} actions: {resident_megabytes():.0f} MB, "
                    f"{len(session.selection.changed)} listeners on the selection"
                )
    slow = sorted(times, reverse=True)
    print(f"seed {seed}: {len(raised)} exceptions in {ACTIONS} actions")
    print(f"over {1000 * FREEZE:.0f} ms: {sum(seconds > FREEZE for seconds, _ in slow)}")
    for seconds, name in slow[:8]:
        print(f"  {1000 * seconds:7.1f} ms  {name}")
    for text in dict.fromkeys(raised):
        print(text)
    window.close()
    runner.finish()
    application.quit()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1)
