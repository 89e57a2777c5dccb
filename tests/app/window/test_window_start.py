import socket
import subprocess
import sys
from pathlib import Path

import pytest

from viewer.app.window.display import answers, missing_display
from viewer.app.window.window_start import sentence_for

ROOT = Path(__file__).resolve().parents[3]


@pytest.mark.parametrize(
    ("environment", "system", "missing"),
    [
        ({}, "linux", "no display"),
        ({"DISPLAY": ""}, "linux", "no display"),
        ({"DISPLAY": ":0"}, "linux", ""),
        ({"DISPLAY": ":9"}, "linux", "does not answer (DISPLAY=:9)"),
        ({"WAYLAND_DISPLAY": "wayland-0"}, "linux", "does not answer (WAYLAND_DISPLAY=wayland-0)"),
        ({"WAYLAND_DISPLAY": "wayland-0", "DISPLAY": ":0"}, "linux", ""),
        ({"QT_QPA_PLATFORM": "offscreen"}, "linux", ""),
        ({"QT_QPA_PLATFORM": "xcb"}, "linux", "no display"),
        ({}, "darwin", ""),
        ({}, "win32", ""),
    ],
)
def test_a_display_is_looked_for(environment, system, missing):
    found = missing_display(environment, system, reachable=lambda display: display == ":0")
    assert missing in found
    assert bool(found) is bool(missing)


def test_a_wayland_socket_counts(tmp_path):
    with socket.socket(socket.AF_UNIX) as line:
        line.bind(str(tmp_path / "wayland-7"))
        environment = {"XDG_RUNTIME_DIR": str(tmp_path), "WAYLAND_DISPLAY": "wayland-7"}
        assert missing_display(environment, "linux") == ""


@pytest.mark.parametrize("display", ["nonsense", ":", "", ":9876", "host:", "127.0.0.1:x"])
def test_what_is_no_display_does_not_answer(display):
    assert not answers(display)


def test_an_x_server_on_another_machine_is_looked_for_at_its_port():
    for number in range(900, 990):
        try:
            server = socket.create_server(("127.0.0.1", 6000 + number))
        except OSError:
            continue
        with server:
            assert answers(f"127.0.0.1:{number}.0")
        assert not answers(f"127.0.0.1:{number}.0")
        return
    pytest.fail("no free port in 90")


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
        "import sys; from viewer.app.window.window_start import start_window as start;"
        "sys.exit(start(None))"
    )
    assert done.returncode == 2
    assert done.stdout == ""
    (line,) = done.stderr.splitlines()
    assert "no display" in line
    assert "curvewright analyze" in line


def test_without_qt_installed_one_line_says_so():
    done = start(
        "import sys; sys.modules['PySide6'] = None\n"
        "from viewer.app.window.window_start import start_window; sys.exit(start_window(None))",
        QT_QPA_PLATFORM="offscreen",
    )
    assert done.returncode == 2
    (line,) = done.stderr.splitlines()
    assert "PySide6" in line
    assert "curvewright analyze" in line


def test_a_missing_system_library_is_named():
    missing = ImportError("libEGL.so.1: cannot open shared object file: No such file")
    assert "libEGL.so.1" in sentence_for(missing)
    assert "curvewright analyze" in sentence_for(missing)
