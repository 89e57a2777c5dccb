"""Files and folders that are dragged in from outside."""

from pathlib import Path

from PySide6.QtCore import QMimeData


def local_paths(data: QMimeData) -> list[Path]:
    """Those that are on this machine and there, in the order they were dragged."""
    paths = [Path(url.toLocalFile()) for url in data.urls() if url.isLocalFile()]
    return [path for path in paths if path.exists()]
