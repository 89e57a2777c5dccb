"""Notes of the field: whole words, and none that is denied."""

import pytest

from viewer.analysis.causes.field_notes import (
    CELL_FAULT,
    DIRT,
    SHADE,
    said_of,
    says_cleaned,
    says_mended,
)


@pytest.mark.parametrize(
    ("words", "note", "said"),
    [
        (SHADE, "shadow of the tree to the west", "shadow of the tree to the west"),
        (SHADE, "Clear sky; two TREES, near", "two TREES"),
        (SHADE, "leaves on the lower row", "leaves on the lower row"),
        (SHADE, "no clouds, shade of a pole", "shade of a pole"),
        (SHADE, "not clean but shaded", "shaded"),
        (CELL_FAULT, "visible hot spot, cracked glass", "visible hot spot"),
        (CELL_FAULT, "hotspots", "hotspots"),
        (DIRT, "heavy dust.", "heavy dust"),
        (DIRT, "rows 1.5 m apart, dusty", "dusty"),
        (DIRT, "no wind\ndust: heavy", "dust: heavy"),
    ],
)
def test_what_is_said_is_quoted(words: str, note: str, said: str) -> None:
    assert said_of(note, words) == said


@pytest.mark.parametrize(
    ("words", "note"),
    [
        (SHADE, "string unshaded"),
        (SHADE, "un-shaded"),
        (SHADE, "no shade, clear sky"),
        (SHADE, "by the street"),
        (SHADE, "pole mounted tracker"),
        (SHADE, None),
        (CELL_FAULT, "no visible cracks"),
        (CELL_FAULT, "glass without any cracks"),
        (CELL_FAULT, "broken clouds"),
        (DIRT, "industrial roof"),
        (DIRT, "one thousand"),
        (DIRT, "no dust"),
        (DIRT, "free of snow"),
        (DIRT, "dust-free"),
        (SHADE, "shade: none, wind: light"),
    ],
)
def test_what_is_not_said(words: str, note: str | None) -> None:
    assert said_of(note, words) == ""


@pytest.mark.parametrize(
    ("note", "said"),
    [
        ("Cleaned this morning", True),
        ("washed, dry", True),
        ("string and sensor cleaned", True),
        ("after cleaning", True),
        ("before cleaning", False),
        ("last cleaned yesterday", True),
        ("sensor cleaned in spring, string cleaned today", True),
        ("not cleaned", False),
        ("not yet cleaned", False),
        ("to be washed", False),
        ("must still be cleaned", False),
        ("uncleaned", False),
        ("has not been cleaned since 2023", False),
        ("never been cleaned", False),
        ("pyranometer cleaned before", False),
        ("last cleaned two years ago", False),
        ("cleaned in spring", False),
        ("traced before it was cleaned", False),
        (None, False),
    ],
)
def test_a_note_of_cleaning_speaks_of_the_string_and_of_the_day(
    note: str | None, said: bool
) -> None:
    assert bool(says_cleaned(note)) is said


@pytest.mark.parametrize(
    ("note", "said"),
    [
        ("after repair", True),
        ("module 4 replaced", True),
        ("Retest", True),
        ("to be repaired", False),
        ("traced before the diode was replaced", False),
        ("not repaired", False),
        ("fixed tilt", False),
    ],
)
def test_a_note_of_a_repair_speaks_of_the_past(note: str, said: bool) -> None:
    assert bool(says_mended(note)) is said
