"""What another trace of the same string, at another hour of the same day, says of its stairs.

A shade moves with the sun, a faulty cell stays: the same stairs an hour later speak for the fault,
others or none for the shade.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from viewer.analysis.signatures.signature_reading import SignatureReading, StairReading
from viewer.site_data.visit_grouping import comparable

LEAST_APART, MOST_APART = timedelta(minutes=45), timedelta(hours=12)
"""The sun moves by about 11 degrees in the first (15 degrees an hour); within the second it is
still the same day, and a string that lost its stair over days may have been mended."""
SAME_LEVEL = 0.05
OTHER_LEVEL = 0.12
"""Currents (over the string's) nearer than the first are the same stair's, farther than the
second are not; between them nothing is said (judgement)."""


def same_stairs_elsewhen(
    readings: Sequence[SignatureReading],
    moments: Sequence[datetime | None],
    mended: Sequence[bool] = (),
) -> list[bool | None]:
    """For each trace of one string, whether another shows its stairs; None where none can tell.

    `mended` says of each trace whether it is told to follow a repair, across which none tells.
    """
    times = [None if moment is None else comparable(moment) for moment in moments]
    repairs = [time for time, after in zip(times, mended, strict=False) if time and after]
    return [
        _seen_again(
            reading.stairs,
            [
                other.stairs
                for other, then in zip(readings, times, strict=True)
                if time and then and _tells(min(time, then), max(time, then), repairs)
            ],
        )
        if reading.stairs
        else None
        for reading, time in zip(readings, times, strict=True)
    ]


def _tells(first: datetime, then: datetime, repairs: Sequence[datetime]) -> bool:
    between = any(first < repair <= then for repair in repairs)
    return LEAST_APART <= then - first <= MOST_APART and not between


def _seen_again(
    stairs: tuple[StairReading, ...], others: list[tuple[StairReading, ...]]
) -> bool | None:
    answers = [_alike(stairs, other) for other in others]
    if any(answer is False for answer in answers):
        return False
    return True if any(answers) else None


def _alike(stairs: tuple[StairReading, ...], other: tuple[StairReading, ...]) -> bool | None:
    if sum(s.bypass_groups for s in stairs) != sum(s.bypass_groups for s in other):
        return None if _may_be_as_many(stairs, other) else False
    if len(stairs) != len(other):
        return None
    away = max(
        abs(a.current_fraction - b.current_fraction)
        for a, b in zip(_by_level(stairs), _by_level(other), strict=True)
    )
    if away < SAME_LEVEL:
        return True
    return False if away > OTHER_LEVEL else None


def _may_be_as_many(stairs: tuple[StairReading, ...], other: tuple[StairReading, ...]) -> bool:
    """Whether the numbers of groups that are likely overlap."""
    (fewest, most), (others_fewest, others_most) = _likely(stairs), _likely(other)
    return fewest <= others_most and others_fewest <= most


def _likely(stairs: tuple[StairReading, ...]) -> tuple[int, int]:
    each = [s.likely_groups or (s.bypass_groups, s.bypass_groups) for s in stairs]
    return sum(fewest for fewest, _ in each), sum(most for _, most in each)


def _by_level(stairs: tuple[StairReading, ...]) -> list[StairReading]:
    return sorted(stairs, key=lambda stair: stair.current_fraction)
