"""Whether a window can be shown at all, found out before Qt is loaded: Qt would abort."""

import re
import socket
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path

WITHOUT_DISPLAY: frozenset[str] = frozenset(
    {"offscreen", "minimal", "minimalegl", "vnc", "linuxfb", "eglfs", "vkkhrdisplay"}
)
"""Platform plug-ins of Qt that need neither X11 nor Wayland."""

REST = "without one, use: curvewright analyze FOLDER"
FIRST_TCP_PORT = 6000
PATIENCE = 3.0
"""Seconds to wait for a display on another machine."""
ATTEMPTS, PAUSE = 3, 0.2
"""A bare X server starts over when its last client leaves; for a moment it does not answer."""


def answers(display: str) -> bool:
    """Whether an X server can be reached at a DISPLAY such as ":0" or "host:10.0"."""
    parts = re.fullmatch(r"(?:(?:tcp|unix)/)?(.*):(\d{1,4})(?:\.\d+)?", display)
    if parts is None:
        return False
    host, number = parts[1], int(parts[2])
    for attempt in range(ATTEMPTS):
        if attempt:
            time.sleep(PAUSE)
        if _answers_now(host, number):
            return True
    return False


def _answers_now(host: str, number: int) -> bool:
    if host in ("", "unix"):
        path = f"/tmp/.X11-unix/X{number}"
        return any(_connects(socket.AF_UNIX, where) for where in (path, "\0" + path))
    return _connects(socket.AF_INET, (host, FIRST_TCP_PORT + number))


def _connects(family: socket.AddressFamily, where: str | tuple[str, int]) -> bool:
    try:
        with socket.socket(family) as line:
            line.settimeout(PATIENCE)
            line.connect(where)
    except OSError:
        return False
    return True


def missing_display(
    environment: Mapping[str, str],
    system: str = sys.platform,
    reachable: Callable[[str], bool] = answers,
) -> str:
    """One sentence when there is no display to show a window on, else nothing."""
    if not system.startswith(("linux", "freebsd", "openbsd", "netbsd")):
        return ""
    plugin = environment.get("QT_QPA_PLATFORM", "").split(":")[0].split(";")[0]
    if plugin in WITHOUT_DISPLAY:
        return ""
    display, wayland = environment.get("DISPLAY", ""), environment.get("WAYLAND_DISPLAY", "")
    if wayland and Path(environment.get("XDG_RUNTIME_DIR", "/"), wayland).is_socket():
        return ""
    if display and reachable(display):
        return ""
    if display or wayland:
        named = f"DISPLAY={display}" if display else f"WAYLAND_DISPLAY={wayland}"
        return f"the display to open a window on does not answer ({named}); {REST}"
    return (
        "there is no display to open a window on (neither DISPLAY nor WAYLAND_DISPLAY is set); "
        + REST
    )
