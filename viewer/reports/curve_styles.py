"""The styles of the first few curves: colour, line pattern and marker, each telling on its own.

The colours follow the order of hue and lightness that Okabe and Ito published for readers
with colour-vision deficiencies (Color Universal Design, 2008), darkened for a white page and
lightened for a dark one so that each keeps a contrast of 3:1 or better with its background.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class CurveStyle:
    """`dashes` are lengths of line and gap in line widths, empty for a solid line."""

    on_light: str
    on_dark: str
    dashes: tuple[float, ...]
    marker: str
    """circle, square, triangle, diamond, cross or star."""

    def colour(self, dark: bool) -> str:
        return self.on_dark if dark else self.on_light


STYLES: tuple[CurveStyle, ...] = (
    CurveStyle("#0072B2", "#56B4E9", (), "circle"),
    CurveStyle("#C04A00", "#FF8A3D", (7, 3), "square"),
    CurveStyle("#007A5A", "#2BC79A", (7, 3, 1.5, 3), "triangle"),
    CurveStyle("#A8417F", "#E59AC6", (2, 2.5), "diamond"),
    CurveStyle("#806000", "#E8C13A", (11, 4), "star"),
    CurveStyle("#303030", "#E6E6E6", (7, 3, 1.5, 3, 1.5, 3), "cross"),
)

OTHER_ON_LIGHT = "#8A8F98"
OTHER_ON_DARK = "#7C828C"
"""Curves beyond the first few: one neutral colour, drawn in bulk."""


def other_colour(dark: bool) -> str:
    return OTHER_ON_DARK if dark else OTHER_ON_LIGHT
