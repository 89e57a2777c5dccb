"""On paper every curve is told apart without colour, and stands out from the white ground."""

from itertools import combinations

from viewer.reports.curve_styles import STYLES
from viewer.reports.print_styles import PRINT_STYLES


def luminance(colour: str) -> float:
    """Relative luminance by WCAG 2.1 (from sRGB, IEC 61966-2-1)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_there_is_a_print_style_for_every_style_of_the_screen():
    assert len(PRINT_STYLES) == len(STYLES)


def test_patterns_and_markers_differ_so_that_colour_is_not_needed():
    for one, other in combinations(PRINT_STYLES, 2):
        assert one.dashes != other.dashes
        assert one.marker != other.marker
        assert one.colour != other.colour


def test_lines_keep_the_contrast_wcag_asks_of_graphics_with_paper_and_with_their_band():
    for style in PRINT_STYLES:
        assert contrast(style.colour, "#FFFFFF") >= 3.0
        assert contrast(style.colour, style.tint) >= 2.5
