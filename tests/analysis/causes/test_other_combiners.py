"""Dirt of one combiner or a wrong reading: the steps from combiner to combiner tell."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from tests.analysis.causes.made_readings import reading
from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.causes.neighbours import (
    NeighbourEvidence,
    StringDeviation,
    neighbour_evidences,
)
from viewer.analysis.causes.other_combiners import own_of_combiners
from viewer.analysis.signatures.signature_words import low_current

START = datetime(2031, 5, 4, 9, 30)
DIRT = -0.07


def combiner(
    minute: float,
    current: float,
    *,
    strings: int = 10,
    drift: float = 0.0,
    seed: int = 1,
    timed: bool = True,
) -> list[StringDeviation]:
    """Strings traced every two minutes from `minute` on; `drift` is relative, by the hour."""
    rng = np.random.default_rng(seed)
    minutes = minute + 2.0 * np.arange(strings)
    return [
        StringDeviation(
            f"{minute:g}-{k}",
            current + drift * at / 60.0 + 0.005 * rng.standard_normal(),
            0.002 * rng.standard_normal(),
            measured_at=START + timedelta(minutes=at) if timed else None,
        )
        for k, at in enumerate(minutes.tolist())
    ]


def test_two_dirty_combiners_beside_a_clean_one() -> None:
    own = own_of_combiners([combiner(0, 0.0), combiner(25, DIRT), combiner(50, DIRT, seed=2)])
    assert own[0] == 0.0
    assert own[1:] == pytest.approx([DIRT, DIRT], abs=0.015)


def test_the_order_of_the_combiners_is_that_of_time() -> None:
    own = own_of_combiners([combiner(50, DIRT), combiner(0, 0.0), combiner(25, 0.0, seed=2)])
    assert own[0] == pytest.approx(DIRT, abs=0.015)
    assert own[1:] == [0.0, 0.0]


def test_a_drifting_sensor_makes_no_step() -> None:
    one, two = combiner(0, 0.0, drift=-0.06), combiner(22, 0.0, drift=-0.06, seed=2)
    assert own_of_combiners([one, two]) == [0.0, 0.0]
    assert np.mean([s.current for s in two]) < np.mean([s.current for s in one]) - 0.02


@pytest.mark.parametrize("minute", [80, 300])
def test_a_long_break_parts_a_visit(minute: float) -> None:
    assert own_of_combiners([combiner(0, 0.0), combiner(minute, DIRT)]) == [0.0, 0.0]


def test_strings_without_a_time_are_near_each_other() -> None:
    own = own_of_combiners([combiner(0, 0.0, timed=False), combiner(1, DIRT, timed=False)])
    assert own == [0.0, pytest.approx(DIRT, abs=0.015)]
    mixed = own_of_combiners([combiner(0, 0.0, timed=False), combiner(1, DIRT)])
    assert mixed == [0.0, 0.0]


def test_times_with_and_without_a_zone_do_not_meet_in_a_comparison() -> None:
    zoned = [
        replace(one, measured_at=one.measured_at.astimezone(UTC))
        for one in combiner(25, DIRT)
        if one.measured_at
    ]
    mixed = [*zoned[:5], *combiner(35, DIRT, strings=5)]
    own = own_of_combiners([combiner(0, 0.0), zoned, mixed])
    assert own == [0.0, pytest.approx(DIRT, abs=0.015), pytest.approx(DIRT, abs=0.02)]


def test_two_strings_prove_nothing_nor_do_unequal_ones() -> None:
    assert own_of_combiners([combiner(0, 0.0, strings=2), combiner(5, DIRT)]) == [0.0, 0.0]
    unequal = [
        StringDeviation(str(k), -0.2 * (k % 2), 0.0, measured_at=START + timedelta(minutes=k))
        for k in range(10)
    ]
    assert own_of_combiners([unequal, combiner(12, DIRT)]) == [0.0, 0.0]


@pytest.mark.parametrize("timed", [True, False])
def test_one_string_traced_many_times_is_no_combiner(timed: bool) -> None:
    repeats = [replace(one, string="one") for one in combiner(25, DIRT, timed=timed)]
    assert own_of_combiners([combiner(0, 0.0, timed=timed), repeats]) == [0.0, 0.0]


def evidence(own_combiner: float) -> NeighbourEvidence:
    return neighbour_evidences(combiner(0, DIRT), own_combiner)[4]


@pytest.mark.parametrize(
    ("own_combiner", "first"), [(0.0, "irradiance_input"), (-0.06, "soiling"), (-0.03, None)]
)
def test_what_a_combiner_apart_leads_to(own_combiner: float, first: str | None) -> None:
    low = low_current(0.07, 0.018, 300.0, 5000.0)
    known = CauseContext(neighbours=evidence(own_combiner))
    ranked = rank_causes(reading(signatures=(low,), current_scale=0.93), known)
    assert ranked[0].cause == (first or "irradiance_input")
    apart = any("best combiner has 6.0 % more current" in one.against for one in ranked)
    assert apart is (first == "soiling")
