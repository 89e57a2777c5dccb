"""Files and folders that are dragged in from outside."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QMimeData

from viewer.site_data.pictures import looks_like_picture


def local_paths(data: QMimeData) -> list[Path]:
    """Those that are on this machine and there, in the order they were dragged."""
    paths = [Path(url.toLocalFile()) for url in data.urls() if url.isLocalFile()]
    return [path for path in paths if path.exists()]


def pictures_among(paths: Sequence[Path]) -> list[Path]:
    """Those that look like pictures; none unless all of them do."""
    return list(paths) if all(looks_like_picture(one) for one in paths) else []
