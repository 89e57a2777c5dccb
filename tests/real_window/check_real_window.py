"""Uses the real window as a person would: `python -m tests.real_window.check_real_window [FOLDER]`.

Needs Xvfb, xdotool and ImageMagick's import. Opens the example by the command search, clicks
in the heat-grid, exports the plot, closes and opens again; compares pictures of the screen.
Pictures stay in FOLDER when one is given. Prints a line a check; exit code 1 if one fails.
"""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from matplotlib.image import imread

WIDTH, HEIGHT = 1280, 720
PLOT = (slice(110, 470), slice(580, 1265))
KEY_POINTS = (slice(500, 660), slice(500, 1265))
STRINGS = (slice(130, 365), slice(8, 485))
GRID_CELL = (250, 530)
PATIENCE = 40.0


class Screen:
    """A virtual screen with the program on it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        read_end, write_end = os.pipe()
        command = ["Xvfb", "-noreset", "-displayfd", str(write_end)]
        command += ["-screen", "0", f"{WIDTH}x{HEIGHT}x24"]
        self.server = subprocess.Popen(command, pass_fds=[write_end], stderr=subprocess.DEVNULL)
        os.close(write_end)
        with os.fdopen(read_end) as answer:
            number = answer.readline().strip()
        self.environment = {
            **os.environ,
            "DISPLAY": f":{number}",
            "XDG_CONFIG_HOME": str(folder / "config"),
            "QT_QPA_PLATFORM": "xcb",
        }
        self.program: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        self.program = subprocess.Popen(
            [sys.executable, "-m", "viewer"], env=self.environment, cwd=Path.cwd()
        )
        self.wait_for(lambda: self.window() != "", "a window")
        self.do("windowfocus", self.window())
        time.sleep(1.0)

    def do(self, *words: str) -> str:
        done = subprocess.run(
            ["xdotool", *words], env=self.environment, capture_output=True, text=True, check=False
        )
        return done.stdout.strip()

    def window(self) -> str:
        found = self.do("search", "--onlyvisible", "--name", "Curvewright").splitlines()
        return found[-1] if found else ""

    def title(self) -> str:
        return self.do("getwindowname", self.window()) if self.window() else ""

    def picture(self, name: str) -> np.ndarray:
        path = self.folder / f"{name}.png"
        subprocess.run(["import", "-window", "root", str(path)], env=self.environment, check=True)
        return imread(path)[:, :, :3]

    def wait_for(self, ready: Callable[[], bool], what: str) -> None:
        end = time.monotonic() + PATIENCE
        while not ready():
            if time.monotonic() > end:
                raise TimeoutError(f"waited {PATIENCE:.0f} s for {what}")
            time.sleep(0.2)

    def close(self) -> int | None:
        """Close the window by its key; the exit code."""
        assert self.program is not None
        self.do("windowfocus", self.window())  # no window manager does it after a dialog
        self.do("key", "ctrl+q")
        return self.program.wait(timeout=PATIENCE)

    def end(self) -> None:
        if self.program is not None and self.program.poll() is None:
            self.program.terminate()
            self.program.wait(timeout=PATIENCE)
        self.server.terminate()
        self.server.wait(timeout=PATIENCE)


def changed(before: np.ndarray, after: np.ndarray) -> float:
    """The part of the pixels that differ."""
    return float((np.abs(before - after).max(axis=2) > 0.1).mean())


def colours(picture: np.ndarray) -> int:
    return len(np.unique((picture.reshape(-1, 3) * 255).astype(int), axis=0))


def checks(screen: Screen) -> dict[str, bool]:
    """What was seen, by the words for it."""
    seen: dict[str, bool] = {}
    screen.start()
    start_page = screen.picture("1_start")
    seen["the start page is not blank"] = colours(start_page[PLOT]) > 20
    screen.do("key", "ctrl+shift+p")
    time.sleep(0.5)
    screen.do("type", "open the example")
    time.sleep(0.5)
    screen.do("key", "Return")
    screen.wait_for(lambda: "invented" in screen.title(), "the example's title")
    time.sleep(5.0)
    opened = screen.picture("2_opened")
    seen["curves are drawn"] = colours(opened[PLOT]) > 50
    screen.do("mousemove", *map(str, GRID_CELL), "click", "1")
    time.sleep(1.0)
    clicked = screen.picture("3_grid_clicked")
    for name, part in (("plot", PLOT), ("key points", KEY_POINTS), ("string list", STRINGS)):
        moved = changed(opened[part], clicked[part])
        seen[f"a click in the heat-grid moves the {name}"] = moved > 0
    screen.do("mousemove", "900", "200")
    time.sleep(0.5)
    hovered = screen.picture("4_crosshair")
    seen["the crosshair follows the mouse"] = changed(clicked[PLOT], hovered[PLOT]) > 0
    target = screen.folder / "exported.png"
    target.unlink(missing_ok=True)  # else the dialog asks whether to replace it
    screen.do("key", "ctrl+s")
    time.sleep(1.5)
    screen.do("key", "ctrl+a")
    screen.do("type", str(target))
    time.sleep(0.5)
    screen.do("key", "Return")
    screen.wait_for(lambda: target.is_file() and target.stat().st_size > 0, "the exported plot")
    time.sleep(1.0)
    screen.picture("5_exported")
    seen["the exported plot is not blank"] = colours(imread(target)[:, :, :3]) > 50
    seen["the window closes with exit code 0"] = screen.close() == 0
    screen.start()
    again = screen.picture("6_started_again")
    seen["the example is offered again at the next start"] = (
        changed(start_page[PLOT], again[PLOT]) > 0
    )
    seen["it closes again"] = screen.close() == 0
    return seen


def main() -> int:
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(scratch)
        folder.mkdir(parents=True, exist_ok=True)
        screen = Screen(folder)
        try:
            seen = checks(screen)
        finally:
            screen.end()
    for words, good in seen.items():
        sys.stdout.write(f"{'passed' if good else 'FAILED'}  {words}\n")
    return 0 if all(seen.values()) else 1


if __name__ == "__main__":
    sys.exit(main())
