"""How curves look on paper: white ground, told apart without colour.

Every style has a line pattern and a marker of its own, so that a photocopy or a reader who
sees no colours loses nothing; the colours add to that and differ in lightness as well.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class PrintStyle:
    """`dashes` are lengths of line and gap in line widths, empty for a solid line.

    `tint` is the opaque pale colour of the prediction's broad band.
    """

    colour: str
    tint: str
    dashes: tuple[float, ...]
    marker: str
    """matplotlib's letter for it."""


PRINT_STYLES: tuple[PrintStyle, ...] = (
    PrintStyle("#00518A", "#C3D6E6", (), "o"),
    PrintStyle("#C8500A", "#F3D5C3", (6, 2.2), "s"),
    PrintStyle("#00805E", "#C3E2DA", (6, 2, 1.2, 2), "^"),
    PrintStyle("#9A2F6E", "#E8CCDC", (1.6, 1.8), "D"),
    PrintStyle("#8C6D00", "#E6DDC0", (11, 3), "*"),
    PrintStyle("#1E1E1E", "#CFCFCF", (6, 2, 1.2, 2, 1.2, 2), "X"),
)
OTHERS = "#8A8F98"
GRID = "#D8DADF"
INK = "#202020"
"""Frames, text and annotations."""
REGION = "#F2E6B8"
"""Fill of a marked region."""
BAND_WIDTH = 5.0
"""Of the prediction [points]."""


def print_style(index: int) -> PrintStyle:
    return PRINT_STYLES[index % len(PRINT_STYLES)]
