"""Whether a window can be shown at all, found out before Qt is loaded: Qt would abort."""

import sys
from collections.abc import Mapping

WITHOUT_DISPLAY: frozenset[str] = frozenset({"offscreen", "minimal", "vnc", "linuxfb", "eglfs"})
"""Platform plug-ins of Qt that need neither X11 nor Wayland."""


def missing_display(environment: Mapping[str, str], system: str = sys.platform) -> str:
    """One sentence when there is no display to show a window on, else nothing."""
    if not system.startswith(("linux", "freebsd", "openbsd", "netbsd")):
        return ""
    plugin = environment.get("QT_QPA_PLATFORM", "").split(":")[0].split(";")[0]
    if plugin in WITHOUT_DISPLAY:
        return ""
    if environment.get("DISPLAY") or environment.get("WAYLAND_DISPLAY"):
        return ""
    return (
        "there is no display to open a window on (neither DISPLAY nor WAYLAND_DISPLAY is set); "
        "without one, use: curvewright analyze FOLDER"
    )
