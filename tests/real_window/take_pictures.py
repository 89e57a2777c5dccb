"""Pictures of the window and of each pane, from the example: for README and for looking at.

Run: `python -m tests.real_window.take_pictures FOLDER`, or with `--readme` in place of the
folder to renew those that README.md shows. No display is needed, but with one the windows are
taken from the screen, as people see them: `xvfb-run -a -s "-screen 0 1920x1080x24" env
QT_QPA_PLATFORM=xcb python -m tests.real_window.take_pictures --readme`.
"""

import io
import os
import sys
import tempfile
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PIL import Image
from PySide6.QtCore import QBuffer, QEventLoop, QTimer
from PySide6.QtWidgets import QApplication, QWidget

from viewer.app.window.main_window import MainWindow
from viewer.app.window.panes import PANES
from viewer.site_data.resource_folder import example_folder, resource_folder
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.state.visit_opening import open_site
from viewer.widgets.controls.theme import Look, figures_font

SIZES = {"1280": (1280, 720), "1920": (1920, 1080)}


README = (
    "start_light",
    "window_light",
    "window_dark",
    "curves",
    "pane_heat_grid",
    "pane_key_points",
    "pane_findings",
    "pane_years",
    "pane_limits",
    "pane_report",
)
"""Names of the pictures in README.md."""
SHOWN = "2025-06-first-year/CB-C/CB-C-S08.csv"
"""The string that README.md speaks of."""
PANE_SIZE = (1000, 460)
COLOURS = 256
"""Enough for a window; a picture keeps under 120 kB by them."""
COMMONEST = 160
SETTLING = 400
"""Milliseconds until docks lie where they belong."""


def grab(widget: QWidget, path: Path) -> None:
    # A loop as in the running program: without one, what Qt deletes later stays on the window.
    loop = QEventLoop()
    QTimer.singleShot(SETTLING, loop.quit)
    loop.exec()
    held = QBuffer()
    held.open(QBuffer.OpenModeFlag.WriteOnly)
    on_screen = widget.isWindow() and QApplication.platformName() == "xcb"
    shot = widget.screen().grabWindow(widget.winId()) if on_screen else widget.grab()
    shot.save(held, "PNG")
    few_colours(Image.open(io.BytesIO(held.data().data())).convert("RGB")).save(path, optimize=True)
    sys.stdout.write(f"{path}\n")


def few_colours(picture: Image.Image) -> Image.Image:
    """The commonest colours as they are, then those least like them; the rest by the nearest.

    Pillow's own choices tint large grounds that are nearly white or nearly black.
    """
    pixels = np.asarray(picture).reshape(-1, 3)
    colours, place, count = np.unique(pixels, axis=0, return_inverse=True, return_counts=True)
    values = colours.astype(int)
    kept = list(np.argsort(-count)[:COMMONEST])
    gap = ((values[:, None] - values[kept][None]) ** 2).sum(axis=2).min(axis=1)
    while len(kept) < COLOURS and gap.max() > 0:
        kept.append(int(gap.argmax()))
        gap = np.minimum(gap, ((values - values[kept[-1]]) ** 2).sum(axis=1))
    apart = ((values[:, None] - values[kept][None]) ** 2).sum(axis=2)
    nearest = apart.argmin(axis=1).astype(np.uint8)
    made = Image.new("P", picture.size)
    made.putpalette(colours[kept].tobytes())
    made.putdata(nearest[place.ravel()])
    return made


def picture_pane(window: MainWindow, name: str, folder: Path) -> None:
    """A pane at a size of its own; it goes back to its place afterwards."""
    window.docks.show(name)
    dock = window.docks.by_id[name]
    floated = dock.isFloating()
    dock.setFloating(True)
    dock.resize(*PANE_SIZE)
    grab(window.pane(name), folder / f"pane_{name}.png")
    dock.setFloating(floated)


def picture_window(theme: str, folder: Path) -> MainWindow:
    session = Session(open_site, Settings(theme=theme))
    window = MainWindow(session, Look(session.settings))
    window.resize(*SIZES["1280"])
    window.docks.default_layout()
    window.show()
    grab(window, folder / f"start_{theme}.png")
    session.open(example_folder())
    session.selection.choose([SHOWN])
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
        picture_pane(window, pane.id, folder)
        if pane.floating:
            window.docks.by_id[pane.id].hide()
    window.resize(*SIZES["1920"])
    window.docks.default_layout()
    grab(window, folder / "window_1920.png")
    window.close()
    picture_window("dark", folder).close()


def renew_readme() -> None:
    pictures = resource_folder() / "pictures"
    pictures.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as made:
        main(Path(made))
        for name in README:
            (pictures / f"{name}.png").write_bytes((Path(made) / f"{name}.png").read_bytes())


if __name__ == "__main__":
    if sys.argv[1:] == ["--readme"]:
        renew_readme()
    else:
        main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path("pictures"))
