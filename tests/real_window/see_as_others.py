"""The window as people with other colour vision see it, for looking at.

Run: `python -m tests.real_window.see_as_others FOLDER [PICTURE ...]`. Without pictures it takes
the compare desk with strings overlaid, in light and dark, and writes each as three kinds of
colour vision at full severity and in grey. `test_colour_vision.py` measures the same.
"""

import os
import sys
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from colorspacious import cspace_convert
from numpy.typing import NDArray
from PIL import Image
from PySide6.QtWidgets import QApplication

from tests.real_window.take_pictures import grab, picture_window
from viewer.widgets.controls.theme import figures_font

VISIONS = ("protanomaly", "deuteranomaly", "tritanomaly")
"""After Machado, Oliveira and Fernandes (2009), as the library colorspacious has them."""

Pixels = NDArray[np.uint8]


def as_seen(picture: Pixels, vision: str, severity: float = 100.0) -> Pixels:
    """The picture, (height, width, 3), as somebody with that vision sees it."""
    colours, place = np.unique(picture.reshape(-1, 3), axis=0, return_inverse=True)
    space = {"name": "sRGB1+CVD", "cvd_type": vision, "severity": severity}
    seen = np.clip(cspace_convert(colours / 255.0, space, "sRGB1"), 0.0, 1.0)
    return np.round(255.0 * seen).astype(np.uint8)[place.ravel()].reshape(picture.shape)


def in_grey(picture: Pixels) -> Pixels:
    grey = np.asarray(Image.fromarray(picture).convert("L"))
    return np.repeat(grey[:, :, None], 3, axis=2)


def take(folder: Path) -> list[Path]:
    application = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(application, QApplication)
    application.setFont(figures_font())
    paths = []
    for theme in ("light", "dark"):
        window = picture_window(theme, folder)
        window.actions_by_id.run("select_suspects")
        paths.append(folder / f"compare_{theme}.png")
        grab(window, paths[-1])
        window.close()
    return paths


def main(folder: Path, pictures: list[Path]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for path in pictures or take(folder):
        pixels = np.asarray(Image.open(path).convert("RGB"))
        for vision in VISIONS:
            Image.fromarray(as_seen(pixels, vision)).save(folder / f"{path.stem}_{vision}.png")
        Image.fromarray(in_grey(pixels)).save(folder / f"{path.stem}_grey.png")
        sys.stdout.write(f"{path.stem}: {', '.join(VISIONS)}, grey\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]), [Path(one) for one in sys.argv[2:]])
