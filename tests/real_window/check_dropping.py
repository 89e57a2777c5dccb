"""Drops folders and files on the real window.

Run: `python -m tests.real_window.check_dropping [FOLDER]`. Needs Xvfb, xdotool and ImageMagick's
import. What is dropped comes from a program of its own, as from a file manager, over the X
protocol. Prints a line a check; exit code 1 if one fails.
"""

import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from tests.real_window.check_real_window import Screen
from viewer.site_data.resource_folder import example_folder

SOURCE = (1200, 4)
"""Where the source of the drag lies: over the end of the menu bar, where nothing else is."""
MIDDLE = (880, 250)
"""In the plot, or in the start page while nothing is open."""
STEPS = 12


def drop(screen: Screen, path: Path, to: tuple[int, int] = MIDDLE) -> str:
    """Drag the path from its source to a place of the screen; "taken" or "refused"."""
    words = [str(path), *map(str, SOURCE)]
    source = subprocess.Popen(
        [sys.executable, "-m", "tests.real_window.drag_source", *words],
        env=screen.environment,
        cwd=Path.cwd(),
        stdout=subprocess.PIPE,
        text=True,
    )
    screen.wait_for(lambda: named(screen, "Drag source") != "", "the source of the drag")
    time.sleep(0.5)
    x, y = SOURCE[0] + 20, SOURCE[1] + 10
    screen.do("mousemove", str(x), str(y), "mousedown", "1")
    for step in range(1, STEPS + 1):
        part = step / STEPS
        place = (round(x + part * (to[0] - x)), round(y + part * (to[1] - y)))
        screen.do("mousemove", *map(str, place))
        time.sleep(0.05)
    time.sleep(0.3)
    screen.do("mouseup", "1")
    said, _ = source.communicate(timeout=20)
    return said.strip()


def named(screen: Screen, title: str) -> str:
    return screen.do("search", "--onlyvisible", "--name", f"^{title}")


def copies(folder: Path) -> tuple[Path, Path, Path]:
    """A second site in a folder of its own, the same as a site file, and a table by itself."""
    other = folder / "other_site"
    shutil.copytree(example_folder(), other)
    text = (other / "site.toml").read_text(encoding="utf-8")
    first = text.index('name = "')
    end = text.index("\n", first)
    (other / "site.toml").write_text(f'{text[:first]}name = "Dropped (invented)"{text[end:]}')
    site_file = folder / "dropped.curvewright"
    command = [sys.executable, "-m", "viewer", "import", str(other), str(site_file), "--quiet"]
    subprocess.run(command, check=False)
    table = folder / "sweep.csv"
    table.write_text("U;I\n0;9,1\n10;9,0\n20;8,7\n30;6,1\n35;0\n", encoding="utf-8")
    return other, site_file, table


def checks(screen: Screen, folder: Path) -> dict[str, bool]:
    """What was seen, by the words for it."""
    other, site_file, table = copies(folder)
    seen: dict[str, bool] = {}

    def opened(words: str, path: Path, title: str) -> None:
        taken = drop(screen, path) == "taken"
        seen[words] = taken and waited(screen, lambda: title in titles(screen))

    def offered(words: str, path: Path) -> None:
        taken = drop(screen, path) == "taken"
        seen[words] = taken and waited(screen, lambda: named(screen, "Import files") != "")
        time.sleep(1.0)
        screen.picture(words.replace(" ", "_"))

    screen.start()
    offered("a table dropped on the start page is offered for import", table)
    screen.close()
    shutil.rmtree(screen.folder / "config")  # else the import pane is there again, in the way
    screen.start()
    opened("a folder dropped on the start page is opened", example_folder(), "Nowhere Flats")
    opened("a folder dropped on an open visit is opened", other, "Dropped")
    opened("a site.toml dropped stands for its folder", example_folder() / "site.toml", "Nowhere")
    opened("a site file dropped on an open visit is opened", site_file, "Dropped")
    offered("a table dropped on an open visit is offered for import", table)
    seen["what was open stays open meanwhile"] = "Dropped" in titles(screen)
    seen["a path that is gone is refused"] = drop(screen, folder / "gone.csv") == "refused"
    seen["the window closes with exit code 0"] = screen.close() == 0
    return seen


def titles(screen: Screen) -> str:
    """Titles of all the program's windows: a floating pane is one of its own."""
    found = screen.do("search", "--onlyvisible", "--name", "Curvewright").splitlines()
    return " ".join(screen.do("getwindowname", one) for one in found)


def waited(screen: Screen, ready: Callable[[], bool]) -> bool:
    try:
        screen.wait_for(ready, "what the drop brings")
    except TimeoutError:
        return False
    return True


def main() -> int:
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(scratch)
        folder.mkdir(parents=True, exist_ok=True)
        screen = Screen(folder)
        try:
            seen = checks(screen, Path(scratch))
        finally:
            screen.end()
    for words, good in seen.items():
        sys.stdout.write(f"{'passed' if good else 'FAILED'}  {words}\n")
    return 0 if all(seen.values()) else 1


if __name__ == "__main__":
    sys.exit(main())
