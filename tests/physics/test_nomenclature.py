import pytest

from viewer.physics.nomenclature import counted, quantity, with_minus


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("-2.68 (-6.15 to +0.80)", "−2.68 (−6.15 to +0.80)"),
        ("CB-C-S08, 2025-06-24", "CB-C-S08, 2025-06-24"),
        ("IEC 62446-1 and 10.1002/pip-1182", "IEC 62446-1 and 10.1002/pip-1182"),
        ("-0.0 ± 2.6", "0.0 ± 2.6"),
        ("+0.0000 %", "0.0000 %"),
        ("-0.05 and +0 W", "−0.05 and 0 W"),
        ("▼ -10 %", "▼ −10 %"),
    ],
)
def test_numbers_have_minus_signs_and_zero_has_none(typed, printed):
    assert with_minus(typed) == printed


@pytest.mark.parametrize(
    ("number", "words", "said"),
    [
        (0, ("string",), "0 strings"),
        (1, ("string",), "1 string"),
        (2, ("string",), "2 strings"),
        (20_000, ("trace",), "20,000 traces"),
        (1, ("copy", "copies"), "1 copy"),
        (3, ("copy", "copies"), "3 copies"),
    ],
)
def test_one_thing_is_not_told_as_many(number, words, said):
    assert counted(number, *words) == said


def test_a_quantity_is_printed_with_a_minus_sign():
    assert quantity("temperature_air").text(-7.25) == "−7.2"
    assert quantity("temperature_air").text(-0.01) == "0.0"
    assert quantity("temperature_air").text(None) == "–"
