"""A reading beside its neighbours: what they add, what they take away, and when they may not."""

from dataclasses import replace

import pytest

from tests.analysis.causes.made_readings import lost_groups, reading
from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.causes.neighbours import (
    NeighbourEvidence,
    StringDeviation,
    neighbour_evidences,
)
from viewer.analysis.causes.second_look import beside_neighbours
from viewer.analysis.signatures.voltage_reading import read_voltage

PER_KELVIN = -0.0029


def evidence(
    own_voltage: float = 0.0, common_voltage: float = 0.0, own_current: float = 0.0,
    voltage_spread: float = 0.0025, current_spread: float = 0.01, own_temperature: float = 0.0,
) -> NeighbourEvidence:  # fmt: skip
    return NeighbourEvidence(
        12, 0.0, common_voltage, own_current, own_voltage, own_current / current_spread,
        own_voltage / voltage_spread, 0, current_spread, voltage_spread, own_temperature,
    )  # fmt: skip


def sound():
    return reading(predicted_v_oc=750.0, bypass_groups=78)


def test_a_group_of_a_long_string_shows_beside_the_neighbours() -> None:
    """1 of 78 groups is 1.28 %: within a lone sweep's uncertainty, outside the neighbours'."""
    assert sound().signatures == ()
    seen = beside_neighbours(sound(), evidence(own_voltage=-1 / 78), PER_KELVIN)
    assert seen.of_kind("low_voltage")[0].details["bypass_groups"] == 1
    causes = rank_causes(seen, CauseContext(neighbours=evidence(own_voltage=-1 / 78)))
    assert causes[0].cause == "bypass_short"


def test_a_small_voltage_loss_that_all_share_is_taken_back() -> None:
    voltage = read_voltage(0.0135, 0.004, 60, 3, PER_KELVIN)
    assert voltage.significant
    seen = beside_neighbours(
        lost_groups(voltage), evidence(own_voltage=-0.0035, common_voltage=-0.010), PER_KELVIN
    )
    assert seen.signatures == ()
    assert rank_causes(seen)[0].cause == "none"


def test_a_large_one_that_all_share_stays_and_is_the_sensor() -> None:
    voltage = read_voltage(0.05, 0.004, 60, 3, PER_KELVIN)
    shared = evidence(own_voltage=0.001, common_voltage=-0.051)
    seen = beside_neighbours(lost_groups(voltage), shared, PER_KELVIN)
    assert seen.of_kind("low_voltage")
    assert rank_causes(seen, CauseContext(neighbours=shared))[0].cause == "temperature_input"


@pytest.mark.parametrize(
    ("lost", "read_apart", "first"),
    [
        (0.05, -17.0, "temperature_input"),
        (0.05, -0.3, "bypass_short"),
        (0.05, -9.0, "bypass_short"),
        (0.05, 17.0, "bypass_short"),
        (0.0116, -3.9, "bypass_short"),
        (0.0133, -4.4, "temperature_input"),
    ],
)
def test_a_sensor_that_came_off_for_one_string(lost: float, read_apart: float, first: str) -> None:
    """The temperature was read 17 K below the neighbours', as the voltage says, or otherwise."""
    voltage = replace(
        read_voltage(lost, 0.004, 60, 3, PER_KELVIN), groups=2,
        probability_healthy=0.0, probability_groups=0.5, probability_temperature=0.5,
    )  # fmt: skip
    off = evidence(own_voltage=-lost, own_temperature=read_apart)
    assert rank_causes(lost_groups(voltage), CauseContext(neighbours=off))[0].cause == first


def test_current_low_only_beside_the_neighbours() -> None:
    seen = beside_neighbours(sound(), evidence(own_current=-0.045), PER_KELVIN)
    assert seen.of_kind("low_current")[0].size == pytest.approx(0.045)
    assert "other strings" in seen.of_kind("low_current")[0].text


@pytest.mark.parametrize(
    ("own", "spread", "told"),
    [
        (-0.045, 0.010, True),
        (-0.029, 0.005, False),
        (-0.045, 0.012, False),
        (-0.049, 0.012, True),
        (0.045, 0.010, False),
    ],
)
def test_a_current_is_the_strings_own_by_size_and_by_spreads(
    own: float, spread: float, told: bool
) -> None:
    """3 % and four spreads are asked for, and it has to be low."""
    beside = evidence(own_current=own, current_spread=spread)
    seen = beside_neighbours(sound(), beside, PER_KELVIN)
    assert bool(seen.of_kind("low_current")) is told


@pytest.mark.parametrize("quarrel", [evidence(own_voltage=-0.03, voltage_spread=0.02), None])
def test_without_neighbours_that_agree_nothing_changes(quarrel: NeighbourEvidence | None) -> None:
    alone = lost_groups(read_voltage(2 / 60, 0.004, 60, 3, PER_KELVIN))
    assert beside_neighbours(alone, quarrel, PER_KELVIN) is alone
    assert beside_neighbours(sound(), quarrel, PER_KELVIN).signatures == ()


def test_neighbours_as_it_is_add_nothing() -> None:
    assert beside_neighbours(sound(), evidence(), PER_KELVIN).signatures == ()


def test_all_of_a_combiner_in_one_pass() -> None:
    strings = [StringDeviation(f"S{k}", 0.0, 0.0, temperature=50.0 + k % 2) for k in range(6)]
    strings[2] = StringDeviation("S2", -0.1, -0.02, temperature=30.0)
    found = neighbour_evidences(strings)
    assert found[2].own_voltage == pytest.approx(-0.02)
    assert found[2].own_temperature == pytest.approx(-20.0, abs=1.0)
    assert found[0].neighbours == 5
    assert found[0].common_voltage == 0.0
