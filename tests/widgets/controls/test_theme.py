"""Contrast by the formula of the Web Content Accessibility Guidelines 2.2 (W3C, 2023)."""

from itertools import combinations

import numpy as np
import pytest
from colorspacious import cspace_convert

from viewer.reports.curve_styles import OTHER_ON_DARK, OTHER_ON_LIGHT, STYLES, other_colour
from viewer.state.strings.standing import LEVELS
from viewer.widgets.controls.theme import DARK, LIGHT, mixed


def luminance(colour: str) -> float:
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted([luminance(one), luminance(other)], reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_formula_gives_21_for_black_on_white():
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_words_can_be_read_everywhere(theme):
    for ground in (theme.window, theme.base, theme.raised, theme.selected):
        assert contrast(theme.text, ground) >= 4.5
    for ground in (theme.window, theme.base, theme.raised):
        assert contrast(theme.subtle, ground) >= 4.5
    assert contrast(theme.on_accent, theme.accent) >= 4.5
    for ground in (theme.window, theme.base):
        assert contrast(theme.accent, ground) >= 4.5
        assert contrast(theme.axis, ground) >= 4.5
        for level in LEVELS:
            assert contrast(theme.level(level), ground) >= 4.5


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_marks_and_frames_stand_out(theme):
    """Success criterion 1.4.11 asks 3:1 of what tells a control, its state or a mark."""
    for level in LEVELS:
        assert contrast(theme.level(level), theme.selected) >= 3
    for ground in (theme.window, theme.base, theme.raised):
        assert contrast(theme.accent, ground) >= 3
    for ground in (theme.window, theme.base):
        assert contrast(theme.frame, ground) >= 3


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_numbers_in_the_heat_grid_can_be_read_on_every_colour(theme):
    for end in (theme.below, theme.above):
        for step in range(11):
            ground = mixed(theme.level_with, end, step / 10).name()
            assert contrast(theme.text, ground) >= 4.5


def test_every_curve_stands_out_from_the_page():
    for style in STYLES:
        assert contrast(style.on_light, LIGHT.base) >= 3
        assert contrast(style.on_dark, DARK.base) >= 3
    assert contrast(OTHER_ON_LIGHT, LIGHT.base) >= 3
    assert contrast(OTHER_ON_DARK, DARK.base) >= 3


def test_styles_differ_in_pattern_and_marker_not_only_in_colour():
    assert len({style.marker for style in STYLES}) == len(STYLES)
    assert len({style.dashes for style in STYLES}) == len(STYLES)


# Colour-vision deficiencies after G. M. Machado, M. M. Oliveira and L. A. F. Fernandes,
# IEEE Transactions on Visualization and Computer Graphics 15 (2009) 1291-1298, and differences
# of colours in CAM02-UCS (Luo, Cui and Li, 2006), both as the library colorspacious has them.
VISIONS = ("normal", "protanomaly", "deuteranomaly", "tritanomaly")
FAR_APART = 12.0
"""In CAM02-UCS, where 1 is about what can just be seen."""
ENDS_APART = 20.0


def seen(colours: list[str], vision: str) -> np.ndarray:
    """The colours in CAM02-UCS as somebody with that vision at full severity sees them."""
    rgb = np.array([[int(one[at : at + 2], 16) / 255 for at in (1, 3, 5)] for one in colours])
    if vision != "normal":
        space = {"name": "sRGB1+CVD", "cvd_type": vision, "severity": 100}
        rgb = cspace_convert(rgb, space, "sRGB1").clip(0.0, 1.0)
    return cspace_convert(rgb, "sRGB1", "CAM02-UCS")


def nearest(colours: list[str], vision: str) -> float:
    """How far the two colours lie apart that are nearest to each other."""
    places = seen(colours, vision)
    return min(float(np.linalg.norm(one - other)) for one, other in combinations(places, 2))


@pytest.mark.parametrize("vision", VISIONS)
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_any_two_curves_differ_in_any_colour_vision(dark, vision):
    colours = [style.colour(dark) for style in STYLES]
    assert nearest([*colours, other_colour(dark)], vision) >= FAR_APART


@pytest.mark.parametrize("vision", VISIONS)
@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_the_ends_of_the_heat_grid_differ_in_any_colour_vision(theme, vision):
    assert nearest([theme.below, theme.level_with, theme.above], vision) >= ENDS_APART
