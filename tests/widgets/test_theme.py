"""Contrast by the formula of the Web Content Accessibility Guidelines 2.2 (W3C, 2023)."""

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
