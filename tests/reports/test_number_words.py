import pytest

from viewer.reports.document.number_words import localised, with_comma


@pytest.mark.parametrize(
    ("said", "wanted"),
    [
        ("costs 156.5 W of 12.0 kW.", "costs 156,5 W of 12,0 kW."),
        ("it is 0.36. Three", "it is 0,36. Three"),
        ("-9.3 %, beyond ±5.0%", "-9,3 %, beyond ±5,0%"),
        ("after IEC 62446-1.2 and NEC 690.7, 1.5 K", "after IEC 62446-1.2 and NEC 690.7, 1,5 K"),
        ("Curvewright 0.1.0", "Curvewright 0.1.0"),
        ("file a1.5.csv and 2.5.csv", "file a1.5.csv and 2.5.csv"),
        ("doi 10.1002/pip.1182", "doi 10.1002/pip.1182"),
        ("no number.", "no number."),
    ],
)
def test_numbers_in_sentences_take_the_comma_and_nothing_else_does(said, wanted):
    assert with_comma(said) == wanted


@pytest.mark.parametrize(
    ("comma", "wanted"), [(False, "between −0.9 and 0.0 %"), (True, "between −0,9 and 0,0 %")]
)
def test_printed_numbers_have_a_minus_sign(comma, wanted):
    assert localised("between -0.9 and -0.0 %", comma) == wanted
