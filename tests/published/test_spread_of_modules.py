"""Strings whose modules differ, as all modules do: what is no fault, and what is one beside it.

Source of the truth: pvlib's `v_from_i` for every bypass group, as in
test_findings_on_pvlib_strings; the bell-shaped spread is checked against scipy.stats.
"""

import numpy as np
import pytest
from scipy.stats import norm, truncnorm

from tests.published.test_findings_on_pvlib_strings import GROUPS, Truth, read
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.signatures.signature_reading import SignatureReading
from viewer.analysis.string_fit.string_curves import carrying

FEWEST_OF_TEN = 7


def currents(modules: int, spread: float, seed: int) -> np.ndarray:
    """Relative currents of the groups of modules that differ by `spread` (standard deviation)."""
    rng = np.random.default_rng(seed)
    return np.repeat(1.0 + spread * rng.standard_normal(modules).clip(-2.5, 2.5), GROUPS)


def dense(modules: int, spread: float, seed: int) -> SignatureReading:
    fractions = currents(modules, spread, seed)
    return read(Truth(fractions, noise=0.0008, points=350), seed=seed)


@pytest.mark.parametrize("modules", [6, 14, 24])
@pytest.mark.parametrize("spread", [0.004, 0.008])
def test_usual_spread_is_no_fault(modules: int, spread: float) -> None:
    """In sweeps of many points and little noise, where it shows most; ten strings each."""
    found = [dense(modules, spread, seed).signatures for seed in range(10)]
    assert sum(signatures == () for signatures in found) >= 8


@pytest.mark.parametrize("modules", [12, 24])
def test_unequal_modules_are_told(modules: int) -> None:
    first = [rank_causes(dense(modules, 0.045, seed))[0].cause for seed in range(30)]
    assert first.count("module_mismatch") >= 3 * FEWEST_OF_TEN


@pytest.mark.parametrize(
    ("modules", "weaker", "level"), [(20, 6, 0.87), (12, 4, 0.84), (24, 2, 0.9)]
)
def test_modules_of_a_lower_class_are_told(modules: int, weaker: int, level: float) -> None:
    first = []
    for seed in range(10):
        fractions = currents(modules, 0.004, seed)
        fractions[: weaker * GROUPS] *= level
        first.append(rank_causes(read(Truth(fractions), seed=seed))[0].cause)
    assert first.count("module_mismatch") >= FEWEST_OF_TEN


@pytest.mark.parametrize(
    ("modules", "weaker", "level"), [(10, 5, 0.87), (14, 7, 0.9), (21, 10, 0.885), (20, 8, 0.9)]
)
def test_how_many_modules_are_of_the_lower_class_and_how_low(
    modules: int, weaker: int, level: float
) -> None:
    """They make one clean stair, though the weaker modules differ among themselves as well."""
    right = 0
    for seed in range(10):
        fractions = currents(modules, 0.005, seed)
        fractions[: weaker * GROUPS] *= level
        reading = read(Truth(fractions, noise=0.001, points=250), seed=seed)
        found = [stair.bypass_groups for stair in reading.stairs]
        right += found == [weaker * GROUPS] and rank_causes(reading)[0].cause == "module_mismatch"
        assert reading.stairs[0].current_fraction == pytest.approx(level, abs=0.015)
    assert right >= 8


@pytest.mark.parametrize("modules", [20, 24])
def test_neighbouring_power_classes_are_told(modules: int) -> None:
    """Eight modules of a class 4.5 % lower in current, which costs 3 % of the power."""
    for seed in range(10):
        fractions = currents(modules, 0.005, seed)
        fractions[: 8 * GROUPS] *= 0.955
        assert rank_causes(read(Truth(fractions), seed=seed))[0].cause == "module_mismatch", seed


@pytest.mark.parametrize(
    ("modules", "weaker", "level"), [(16, 8, 0.96), (28, 14, 0.967), (20, 9, 0.965)]
)
def test_half_a_string_of_the_next_power_class_is_told(
    modules: int, weaker: int, level: float
) -> None:
    """Too near the rest to be a stair, but it costs 1.8 % of the power and more."""
    told, by_name = [], 0
    for seed in range(10):
        fractions = currents(modules, 0.004, seed)
        sound = read(Truth(fractions, noise=0.0008, points=350), seed=seed)
        fractions[: weaker * GROUPS] *= level
        weak = read(Truth(fractions, noise=0.0008, points=350), seed=seed)
        knees = weak.of_kind("rounded_knee")
        if not knees:
            continue
        by_name += "less current than the rest" in knees[0].text
        assert rank_causes(weak)[0].cause == "module_mismatch"
        told.append(weak.losses["rounded_knee"] / (sound.p_mp - weak.p_mp))
    assert len(told) >= FEWEST_OF_TEN
    assert by_name >= 5, "one weaker class is told as such, not as many small stairs"
    assert np.mean(told) == pytest.approx(1.0, abs=0.15)


@pytest.mark.parametrize(("modules", "weaker", "level"), [(20, 8, 0.91), (12, 6, 0.93)])
def test_what_weaker_modules_cost(modules: int, weaker: int, level: float) -> None:
    """Against modules that are all as predicted, not as the mean of these."""
    for seed in range(6):
        fractions = currents(modules, 0.004, seed)
        sound = read(Truth(fractions), seed=seed)
        fractions[: weaker * GROUPS] *= level
        weak = read(Truth(fractions), seed=seed)
        lost = sound.p_mp - weak.p_mp
        assert lost > 0.03 * sound.p_mp
        assert sum(weak.losses.values()) == pytest.approx(lost, rel=0.2), seed


def test_a_small_leak_is_not_taken_for_a_spread() -> None:
    """All modules leak a little, which costs 4 % of the power."""
    first = []
    for seed in range(10):
        fractions = currents(18, 0.005, seed)
        leaking = np.full(fractions.size, 0.22)
        truth = Truth(fractions, shunt_scale=leaking, noise=0.0015, points=200)
        first.append(rank_causes(read(truth, seed=seed))[0].cause)
    assert first.count("shunt") >= FEWEST_OF_TEN


def test_what_a_leak_of_all_modules_costs_where_some_leak_more() -> None:
    """Only what those leaked more was counted, a half or less of the loss."""
    for seed in range(6):
        fractions = currents(16, 0.005, seed)
        more = np.random.default_rng(seed).random(16) < 0.4
        leaking = np.where(more, 0.05, 0.12).repeat(GROUPS)
        leaky = read(Truth(fractions, shunt_scale=leaking, noise=0.001, points=200), seed=seed)
        sound = read(Truth(fractions, noise=0.001, points=200), seed=seed)
        (leak,) = leaky.of_kind("slope_near_isc")
        assert leak.details["bypass_groups"] == fractions.size
        lost = sound.p_mp - leaky.p_mp
        assert leaky.losses["slope_near_isc"] == pytest.approx(lost, rel=0.05), seed


@pytest.mark.parametrize("share", [0.4, 0.7, 1.0])
def test_modules_that_leak_unevenly_are_a_shunt(share: float) -> None:
    """Worst at one end and less along the string, as potential-induced degradation leaves it."""
    first = []
    for seed in range(10):
        rng = np.random.default_rng(seed)
        modules = 18
        leaking = round(share * modules)
        shunt = np.ones(modules)
        shunt[:leaking] = 0.05 * np.linspace(1.0, 3.0, leaking)
        shunt[:leaking] *= np.exp(0.2 * rng.standard_normal(leaking))
        truth = Truth(
            currents(modules, 0.005, seed),
            shunt_scale=np.repeat(shunt, GROUPS),
            noise=0.0015,
            points=200,
        )
        first.append(rank_causes(read(truth, seed=seed))[0].cause)
    assert first.count("shunt") >= FEWEST_OF_TEN


@pytest.mark.parametrize("limited", [2, 4])
def test_a_deep_stair_beside_unequal_modules_stays_a_stair(limited: int) -> None:
    first = []
    for seed in range(10):
        fractions = currents(11, 0.014, seed)
        fractions[:limited] = 0.45
        reading = read(Truth(fractions, points=200), seed=seed)
        deep = [s.bypass_groups for s in reading.stairs if s.current_fraction < 0.6]
        first.append((rank_causes(reading)[0].cause in ("shading", "cell_fault"), deep))
    assert sum(one == (True, [limited]) for one in first) >= FEWEST_OF_TEN


@pytest.mark.parametrize("away", [-4.0, -1.0, 0.0, 0.7, 3.0, 8.0])
def test_groups_that_carry_the_current(away: float) -> None:
    """Their share and mean beyond the string's current: a bell cut off below (scipy.stats)."""
    width = 0.006
    ours = carrying(width, np.array([away * width]))
    assert ours.share[0] == pytest.approx(norm.cdf(away), rel=1e-12)
    mean = truncnorm.mean(-away, np.inf, loc=away * width, scale=width)
    assert ours.net[0] == pytest.approx(mean, rel=1e-8)
