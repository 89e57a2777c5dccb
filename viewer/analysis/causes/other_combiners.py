"""What the visit's other combiners say: a wrong reading reaches them as well, dirt may not.

Combiners are traced one after another with the same sensors. Where the current steps from the last
strings of one to the first of the next, the step is the combiners' own; what drifts with the sensor
passes through. Steps add up along the visit, as long as no long break parts it.
"""

from collections.abc import Sequence

import numpy as np

from viewer.analysis.causes.neighbours import (
    AGREEING_CURRENT,
    COMMON_CURRENT,
    LEAST_NEIGHBOURS,
    NEAR_IN_TIME,
    OUTLYING,
    SPREAD_OF_CURRENT,
    StringDeviation,
    first_of_each,
    minutes_of,
    robust_centre,
)

EDGE = 6
"""So many strings before and after tell of a step."""
OF_MEDIAN = 1.25
"""The median's standard deviation over that of a mean."""


def own_of_combiners(combiners: Sequence[Sequence[StringDeviation]]) -> list[float]:
    """By how much each combiner of a visit lies below the best in current, relative (at most 0).

    0 where that is not certain, and where no other combiner was traced near in time. Strings
    without a time count as near all others without one.
    """
    order = sorted(range(len(combiners)), key=lambda k: _middle(combiners[k]))
    own = [0.0] * len(combiners)
    chain: list[tuple[int, float, float]] = []
    for place in order:
        step = _step(combiners[chain[-1][0]], combiners[place]) if chain else None
        if step is None:
            _settle(chain, own)
            chain = [(place, 0.0, 0.0)]
        else:
            chain.append((place, chain[-1][1] + step[0], chain[-1][2] + step[1]))
    _settle(chain, own)
    return own


def _settle(chain: list[tuple[int, float, float]], own: list[float]) -> None:
    """Each combiner of a chain (place, current, variance so far) against its best."""
    _, best, of_best = max(chain, key=lambda one: one[1], default=(0, 0.0, 0.0))
    for place, current, variance in chain:
        uncertainty = abs(variance - of_best) ** 0.5
        if best - current > max(COMMON_CURRENT, OUTLYING * uncertainty):
            own[place] = current - best


def _step(
    before: Sequence[StringDeviation], after: Sequence[StringDeviation]
) -> tuple[float, float] | None:
    """The step in current from one combiner to the next, and its variance."""
    edges = _edges(before, after)
    if edges is None or min(map(len, edges)) < LEAST_NEIGHBOURS:
        return None
    centres = [
        robust_centre(np.array([one.current for one in edge]), SPREAD_OF_CURRENT) for edge in edges
    ]
    if max(spread for _, spread in centres) > AGREEING_CURRENT:
        return None
    variance = sum(
        (OF_MEDIAN * spread) ** 2 / len(edge)
        for (_, spread), edge in zip(centres, edges, strict=True)
    )
    return centres[1][0] - centres[0][0], variance


def _edges(
    before: Sequence[StringDeviation], after: Sequence[StringDeviation]
) -> tuple[list[StringDeviation], list[StringDeviation]] | None:
    """The strings of both that were traced nearest to each other; None after a long break."""
    known = [[one for one in strings if np.isfinite(one.current)] for strings in (before, after)]
    times = [_minutes(strings) for strings in known]
    if not all(times):
        return None if any(times) else (_once(known[0]), _once(known[1]))
    last, first = max(times[0]), min(times[1])
    if first - last > NEAR_IN_TIME:
        return None
    middle = 0.5 * (last + first)

    def away(one: StringDeviation) -> float:
        return abs(minutes_of(one) - middle) if one.measured_at else np.inf

    nearest = [_once(sorted(strings, key=away))[:EDGE] for strings in known]
    return nearest[0], nearest[1]


def _once(strings: Sequence[StringDeviation]) -> list[StringDeviation]:
    """The first trace of each string."""
    names = [one.string for one in strings]
    return [strings[place] for place in first_of_each(names, range(len(strings)))]


def _minutes(strings: Sequence[StringDeviation]) -> list[float]:
    """When those were traced whose time is known."""
    return [minutes_of(one) for one in strings if one.measured_at]


def _middle(strings: Sequence[StringDeviation]) -> float:
    return float(np.median(_minutes(strings) or [0.0]))
