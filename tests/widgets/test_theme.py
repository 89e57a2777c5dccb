"""Contrast by the formula of the Web Content Accessibility Guidelines 2.2 (W3C, 2023)."""

import numpy as np
import pytest

from viewer.reports.curve_styles import OTHER_ON_DARK, OTHER_ON_LIGHT, STYLES
from viewer.state.standing import LEVELS
from viewer.widgets.theme import DARK, LIGHT, mixed


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
    for level in LEVELS:
        assert contrast(theme.level(level), theme.base) >= 4.5


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


# Colour-vision deficiencies as G. M. Machado, M. M. Oliveira and L. A. F. Fernandes model them,
# IEEE Transactions on Visualization and Computer Graphics 15 (2009) 1291-1298, table of matrices
# at severity 1 (values from memory; rows of each add up to 1, which is checked).
SEEN_BY = {
    "protan": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deutan": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritan": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}


def linear(colour: str) -> np.ndarray:
    channels = np.array([int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)])
    return np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)


def lab(rgb: np.ndarray) -> np.ndarray:
    """CIE L*a*b* of linear sRGB (IEC 61966-2-1, CIE 15)."""
    to_xyz = np.array(
        [
            [0.4124, 0.3576, 0.1805],
            [0.2126, 0.7152, 0.0722],
            [0.0193, 0.1192, 0.9505],
        ]
    )
    xyz = to_xyz @ rgb.clip(0, 1) / to_xyz.sum(axis=1)
    f = np.where(xyz > 0.008856, np.cbrt(xyz), 7.787 * xyz + 16 / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.parametrize("vision", SEEN_BY)
def test_the_matrices_leave_grey_as_it_is(vision):
    assert np.array(SEEN_BY[vision]).sum(axis=1) == pytest.approx(1.0, abs=1e-4)


@pytest.mark.parametrize("vision", SEEN_BY)
@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_the_ends_of_the_heat_grid_differ_in_any_colour_vision(theme, vision):
    matrix = np.array(SEEN_BY[vision])
    ends = [lab(matrix @ linear(one)) for one in (theme.below, theme.level_with, theme.above)]
    for one, other in ((0, 1), (1, 2), (0, 2)):
        assert np.linalg.norm(ends[one] - ends[other]) >= 20
