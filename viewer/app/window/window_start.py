"""Starts the window: says in one line why it cannot, or runs it to its end."""

import importlib
import os
import sys
from typing import Protocol, cast

from viewer.app.window.display import missing_display

WINDOW_RUN_MODULE = "viewer.app.window.window_run"
"""Named as a string: it loads Qt, which must not happen before the display is looked for."""


class WindowRun(Protocol):
    def run_window(self, folder: str | None) -> int: ...


def start_window(folder: str | None) -> int:
    """Open the window, on a folder if one is given; the exit code. 2: no window was possible."""
    problem = missing_display(os.environ)
    if problem:
        print(f"curvewright: {problem}", file=sys.stderr)
        return 2
    try:
        module = cast(WindowRun, importlib.import_module(WINDOW_RUN_MODULE))
    except ImportError as missing:
        print(f"curvewright: {sentence_for(missing)}", file=sys.stderr)
        return 2
    return module.run_window(folder)


def sentence_for(missing: ImportError) -> str:
    """One sentence for a part of Qt that cannot be loaded, with what to do about it."""
    text = str(missing).splitlines()[0] if str(missing) else repr(missing)
    rest = "without a window, use: curvewright analyze FOLDER"
    name = (missing.name or "").split(".")[0]
    if isinstance(missing, ModuleNotFoundError) and name in ("PySide6", "shiboken6", "pyqtgraph"):
        return f"the window needs {name}, which is not installed (pip install {name}); {rest}"
    if ".so" in text:
        library = text.split(":")[0]
        return (
            f"the window needs the system library {library}, which is missing: install it with "
            f"your system's package tool (on Debian and Ubuntu: apt install libegl1 libgl1 "
            f"libxkbcommon0 libdbus-1-3 libfontconfig1); {rest}"
        )
    return f"the window cannot be loaded ({text}); {rest}"
