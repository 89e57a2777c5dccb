"""A plot on the clipboard does not crash the program when it ends."""

import subprocess
import sys

SCRIPT = """
from pathlib import Path
from PySide6.QtWidgets import QApplication
from tests.invented_results import InventedOpener, invented_visits
from viewer.app.window.main_window import MainWindow
from viewer.state.session import Session
from viewer.state.program.settings import Settings
from viewer.widgets.controls.theme import Look

application = QApplication([])
session = Session(InventedOpener(invented_visits()), Settings())
window = MainWindow(session, Look(session.settings))
session.open(Path("/invented/visit"))
window.actions_by_id.run("copy_plot")
assert QApplication.clipboard().mimeData().hasImage()
print("copied")
"""


def test_exit_code_after_copying() -> None:
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT], capture_output=True, text=True, timeout=120, check=False
    )
    assert "copied" in done.stdout, done.stderr
    assert done.returncode == 0
