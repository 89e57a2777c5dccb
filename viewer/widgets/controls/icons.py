"""The icons of resources/icons, tinted with a colour of the theme."""

from functools import lru_cache

from PySide6.QtCore import QByteArray, QRectF, Qt
from PySide6.QtGui import QIcon, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer

from viewer.site_data.resource_folder import resource_folder

SIZE = 16
SCALES: tuple[int, ...] = (1, 2, 3, 4)
"""Pixel densities drawn ahead, so that icons stay sharp on any screen."""


@lru_cache(maxsize=256)
def icon(name: str, colour: str) -> QIcon:
    """The icon of that name in that colour. Raises FileNotFoundError when there is none."""
    made = QIcon()
    for scale in SCALES:
        picture = pixmap(name, colour, SIZE * scale)
        made.addPixmap(picture)
        # Else Qt lays the selection's colour over it, and the colour is part of what it says.
        made.addPixmap(picture, QIcon.Mode.Selected)
    return made


@lru_cache(maxsize=512)
def pixmap(name: str, colour: str, pixels: int) -> QPixmap:
    """The icon as a square picture of so many device pixels."""
    text = (resource_folder() / "icons" / f"{name}.svg").read_text(encoding="utf-8")
    renderer = QSvgRenderer(QByteArray(text.replace("currentColor", colour).encode()))
    made = QPixmap(pixels, pixels)
    made.fill(Qt.GlobalColor.transparent)
    painter = QPainter(made)
    renderer.render(painter, QRectF(0, 0, pixels, pixels))
    painter.end()
    return made


def has_icon(name: str) -> bool:
    return (resource_folder() / "icons" / f"{name}.svg").is_file()
