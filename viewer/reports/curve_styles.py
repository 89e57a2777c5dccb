"""The styles of the first few curves: colour, line pattern and marker, each telling on its own.

The colours keep a contrast of 3:1 or better with their page, and any two of them, and each from
the neutral one of the other curves, lie 12 or more apart in CAM02-UCS as people with normal vision
and with full protanopia, deuteranopia and tritanopia see them (simulated after Machado, Oliveira
and Fernandes, 2009): found by a search among hues of these families, measured in the tests.
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
    CurveStyle("#2A6FD6", "#7DB4F2", (), "circle"),
    CurveStyle("#AE4014", "#FF5A1F", (7, 3), "square"),
    CurveStyle("#1F685A", "#3AA565", (7, 3, 1.5, 3), "triangle"),
    CurveStyle("#7D2581", "#C653D0", (2, 2.5), "diamond"),
    CurveStyle("#B68E05", "#F6C453", (11, 4), "star"),
    CurveStyle("#343134", "#ECECEC", (7, 3, 1.5, 3, 1.5, 3), "cross"),
)

OTHER_ON_LIGHT = "#8A8F98"
OTHER_ON_DARK = "#7C828C"
"""Curves beyond the first few: one neutral colour, drawn in bulk."""


def other_colour(dark: bool) -> str:
    return OTHER_ON_DARK if dark else OTHER_ON_LIGHT
