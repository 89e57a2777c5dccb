"""Numbers of bypass groups are told with a range that holds the true one.

Source of the truth: strings computed group by group by pvlib, as in
test_findings_on_pvlib_strings.py, read with wrong irradiance and temperature as in the field.
"""

import numpy as np

from tests.published.test_findings_on_pvlib_strings import GROUPS, Truth, read
from viewer.analysis.results.trace_result import Signature

STRINGS = 40


def told(signatures: tuple[Signature, ...]) -> tuple[int, int, int]:
    """Fewest, told and most groups of all the signatures."""
    keys = ("bypass_groups_fewest", "bypass_groups", "bypass_groups_most")
    fewest, number, most = (sum(int(s.details[key]) for s in signatures) for key in keys)
    return fewest, number, most


def test_of_limited_groups_in_long_noisy_strings() -> None:
    rng = np.random.default_rng(20)
    right, held, exactly = 0, 0, 0
    for seed in range(STRINGS):
        modules = int(rng.integers(20, 33))
        limited = int(rng.integers(12, 2 * modules))
        fractions = np.ones(GROUPS * modules)
        fractions[:limited] = rng.uniform(0.2, 0.75)
        string = Truth(fractions, poa=800.0, noise=0.006)
        poa_read = 800.0 * (1.0 + rng.normal(0.0, 0.015))
        reading = read(string, poa_read, warmer=rng.normal(0.0, 1.0), seed=seed)
        fewest, number, most = told(reading.of_kind("step"))
        right += number == limited
        held += fewest <= limited <= most
        exactly += fewest == most
    assert right < 36, "numbers that are always right would need no range"
    assert held >= 37
    assert exactly < 12


def test_of_lost_groups_beside_wrong_temperatures() -> None:
    rng = np.random.default_rng(21)
    exactly = 0
    for seed in range(STRINGS):
        modules = int(rng.integers(20, 33))
        lost = int(rng.integers(3, 9))
        string = Truth(np.ones(GROUPS * modules - lost), poa=800.0, lost_groups=lost)
        reading = read(string, 800.0, warmer=rng.normal(0.0, 1.0), seed=seed)
        fewest, number, most = told(reading.of_kind("low_voltage"))
        assert fewest <= lost <= most
        if fewest == most:
            exactly += 1
            assert number == lost
    assert 8 <= exactly <= 32


def test_a_number_is_told_alone_where_it_is_certain() -> None:
    fractions = np.ones(60)
    fractions[:2] = 0.4
    (clear,) = read(Truth(fractions)).of_kind("step")
    assert told((clear,)) == (2, 2, 2)
    assert clear.text.startswith("Two bypass groups limited to")


def test_a_range_stands_beside_the_number() -> None:
    fractions = np.ones(90)
    fractions[:48] = 0.44
    (doubtful,) = read(Truth(fractions, noise=0.006)).of_kind("step")
    fewest, number, most = told((doubtful,))
    assert fewest < most
    between = "or" if most == fewest + 1 else "to"
    assert f"{number} bypass groups (likely {fewest} {between} {most}) limited" in doubtful.text
