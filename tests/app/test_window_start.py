import subprocess
import sys
from pathlib import Path

import pytest

from viewer.app.display import missing_display
from viewer.app.window_start import sentence_for

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize(
    ("environment", "system", "missing"),
    [
        ({}, "linux", True),
        ({"DISPLAY": ""}, "linux", True),
        ({"DISPLAY": ":0"}, "linux", False),
        ({"WAYLAND_DISPLAY": "wayland-0"}, "linux", False),
        ({"QT_QPA_PLATFORM": "offscreen"}, "linux", False),
        ({"QT_QPA_PLATFORM": "xcb"}, "linux", True),
        ({}, "darwin", False),
        ({}, "win32", False),
    ],
)
def test_a_display_is_looked_for(environment, system, missing):
    assert bool(missing_display(environment, system)) is missing


def start(code: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env={"PATH": "/usr/bin:/bin", **environment},
        timeout=120,
        check=False,
    )


def test_without_a_display_one_line_says_so_and_names_the_other_way():
    done = start(
        "import sys; from viewer.app.window_start import start_window; sys.exit(start_window(None))"
    )
    assert done.returncode == 2
    assert done.stdout == ""
    (line,) = done.stderr.splitlines()
    assert "no display" in line
    assert "curvewright analyze" in line


def test_without_qt_installed_one_line_says_so():
    done = start(
        "import sys; sys.modules['PySide6'] = None\n"
        "from viewer.app.window_start import start_window; sys.exit(start_window(None))",
        DISPLAY=":0",
    )
    assert done.returncode == 2
    (line,) = done.stderr.splitlines()
    assert "PySide6" in line
    assert "curvewright analyze" in line


def test_a_missing_system_library_is_named():
    missing = ImportError("libEGL.so.1: cannot open shared object file: No such file")
    assert "libEGL.so.1" in sentence_for(missing)
    assert "curvewright analyze" in sentence_for(missing)
