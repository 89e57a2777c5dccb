import pytest

from viewer.state.strings.power_of_ten import exponent_of, with_power


@pytest.mark.parametrize(
    ("value", "decimals", "words"),
    [
        (3.49e-9, 1, "3.5 × 10⁻⁹"),
        (1.003e-10, 3, "1.003 × 10⁻¹⁰"),
        (-2.0e-5, 0, "−2 × 10⁻⁵"),
        (0.0, 1, "0.0 × 10⁰"),
    ],
)
def test_numbers_have_their_power_of_ten_as_printed(value, decimals, words):
    assert with_power(value, exponent_of(value), decimals) == words


def test_two_numbers_by_the_same_power_can_be_compared():
    power = exponent_of(3.49e-9)
    assert with_power(6.4e-10, power, 1) == "0.6 × 10⁻⁹"


def test_what_is_no_number_has_no_power():
    assert exponent_of(float("nan")) == exponent_of(float("inf")) == 0
