"""Pictures of the window and of each pane, from the example: for README and for looking at.

Run: `python -m tests.real_window.take_pictures FOLDER`. No display is needed.
"""

import os
import sys
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtWidgets import QApplication, QWidget

from viewer.app.main_window import MainWindow
from viewer.app.panes import PANES
from viewer.site_data.resource_folder import example_folder
from viewer.state.session import Session
from viewer.state.settings import Settings
from viewer.state.visit_opening import open_site
from viewer.widgets.theme import Look, figures_font

SIZES = {"1280": (1280, 720), "1920": (1920, 1080)}


def grab(widget: QWidget, path: Path) -> None:
    for _ in range(3):
        QApplication.processEvents()
    widget.grab().save(str(path))
    sys.stdout.write(f"{path}\n")


def picture_window(theme: str, folder: Path) -> MainWindow:
    session = Session(open_site, Settings(theme=theme))
    window = MainWindow(session, Look(session.settings))
    window.resize(*SIZES["1280"])
    window.show()
    window.docks.default_layout()
    grab(window, folder / f"start_{theme}.png")
    session.open(example_folder())
    grab(window, folder / f"window_{theme}.png")
    return window


def main(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    application = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(application, QApplication)
    application.setFont(figures_font())
    window = picture_window("light", folder)
    window.actions_by_id.run("select_suspects")
    grab(window.plot, folder / "curves.png")
    window.actions_by_id.run("form_relative")
    grab(window.plot, folder / "curves_relative.png")
    window.actions_by_id.run("form_measured")
    window.actions_by_id.run("keep_current")
    for pane in PANES:
        window.docks.show(pane.id)
        grab(window.pane(pane.id), folder / f"pane_{pane.id}.png")
        if pane.floating:
            window.docks.by_id[pane.id].hide()
    window.resize(*SIZES["1920"])
    window.docks.default_layout()
    grab(window, folder / "window_1920.png")
    window.close()
    picture_window("dark", folder).close()


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path("pictures"))
