"""Another trace of the string at another hour: a shade moves, a faulty cell stays."""

from datetime import UTC, datetime, timedelta

import pytest

from tests.analysis.causes.made_readings import one_stair, reading
from viewer.analysis.causes.repeat_traces import same_stairs_elsewhen
from viewer.analysis.signatures.signature_reading import SignatureReading, StairReading

TEN = datetime(2026, 6, 1, 10, 0)


def at(level: float, groups: int = 1) -> SignatureReading:
    return reading(stairs=(StairReading(groups, level, 13.0 * groups, 0.9, 100.0),))


@pytest.mark.parametrize(
    ("other", "minutes", "same"),
    [
        (at(0.41), 90, True),
        (at(0.60), 90, False),
        (at(0.48), 90, None),
        (at(0.41, groups=3), 90, False),
        (reading(), 90, False),
        (at(0.60), 10, None),
        (reading(), 24 * 60, None),
        (reading(), 5 * 24 * 60, None),
    ],
)
def test_the_first_beside_another(other: SignatureReading, minutes: int, same: bool | None) -> None:
    moments = [TEN, TEN + timedelta(minutes=minutes)]
    assert same_stairs_elsewhen([one_stair(), other], moments)[0] is same


@pytest.mark.parametrize(("likely", "same"), [((22, 24), None), ((24, 26), False)])
def test_numbers_that_may_be_the_same_are_no_change(
    likely: tuple[int, int], same: bool | None
) -> None:
    first = StairReading(21, 0.4, 250.0, 0.9, 100.0, likely_groups=(20, 22))
    then = StairReading(24, 0.4, 260.0, 0.9, 100.0, likely_groups=likely)
    both = [reading(stairs=(first,)), reading(stairs=(then,))]
    assert same_stairs_elsewhen(both, [TEN, TEN + timedelta(hours=1)])[0] is same


def test_without_a_clock_nothing_is_said() -> None:
    assert same_stairs_elsewhen([one_stair(), at(0.9)], [TEN, None]) == [None, None]


def test_one_trace_without_them_is_enough() -> None:
    moments = [TEN, TEN + timedelta(hours=1), TEN + timedelta(hours=2)]
    assert same_stairs_elsewhen([one_stair(), at(0.4), reading()], moments)[0] is False


def test_a_trace_without_stairs_is_not_asked() -> None:
    moments = [TEN, TEN + timedelta(hours=1)]
    assert same_stairs_elsewhen([reading(), one_stair()], moments)[0] is None


def test_a_time_with_a_zone_beside_one_without() -> None:
    moments = [TEN, TEN.replace(tzinfo=UTC) + timedelta(hours=1)]
    assert same_stairs_elsewhen([one_stair(), at(0.41)], moments)[0] is True


def test_across_a_repair_nothing_is_told() -> None:
    """The second follows a repair, as its note says; it and the third tell of each other."""
    moments = [TEN + timedelta(hours=hours) for hours in range(3)]
    readings = [one_stair(), at(0.41), at(0.70)]
    found = same_stairs_elsewhen(readings, moments, [False, True, False])
    assert found == [None, False, False]
    assert same_stairs_elsewhen(readings, moments)[0] is False
