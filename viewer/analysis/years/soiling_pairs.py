"""Soiling told from ageing: the same string traced before and after cleaning on one visit."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, hypot, log, sqrt
from statistics import fmean, stdev

from viewer.analysis.years.observation import QUANTITIES, Observation, Shares
from viewer.physics.uncertainty.uncertainty import COVERAGE


@dataclass(frozen=True)
class SoilingLoss:
    """Power lost to soiling on one visit, as a fraction, from `pairs` strings.

    `ratio` holds, for each quantity, uncleaned over cleaned; `uncertainty` is the relative
    standard uncertainty (k = 1) of each.
    """

    visit: int
    pairs: int
    ratio: dict[str, float]
    uncertainty: dict[str, float]

    @property
    def power_lost(self) -> float:
        return 1.0 - self.ratio["p_mp"]

    @property
    def expanded(self) -> float:
        """Of the power lost, k = 2."""
        return COVERAGE * self.uncertainty["p_mp"] * self.ratio["p_mp"]


def soiling_losses(observations: Sequence[Observation]) -> dict[int, SoilingLoss]:
    """The loss on each visit that has at least one cleaned and uncleaned pair."""
    states: dict[tuple[int, tuple[str, str]], dict[bool, list[Observation]]] = defaultdict(
        lambda: {True: [], False: []}
    )
    for one in observations:
        if one.cleaned is not None:
            states[one.visit, one.place][one.cleaned].append(one)
    pairs: dict[int, list[tuple[list[Observation], list[Observation]]]] = defaultdict(list)
    for (visit, _), both in states.items():
        if both[True] and both[False]:
            pairs[visit].append((both[False], both[True]))
    return {visit: _loss(visit, found) for visit, found in pairs.items()}


def _loss(visit: int, pairs: list[tuple[list[Observation], list[Observation]]]) -> SoilingLoss:
    """Mean over the pairs. What is common to the visit falls out of each pair's ratio."""
    ratio: dict[str, float] = {}
    uncertainty: dict[str, float] = {}
    for name in QUANTITIES:
        logs = [_mean_log(dirty, name) - _mean_log(clean, name) for dirty, clean in pairs]
        stated = [hypot(_own(dirty, name), _own(clean, name)) for dirty, clean in pairs]
        spread = stdev(logs) if len(logs) > 1 else 0.0
        ratio[name] = exp(fmean(logs))
        uncertainty[name] = max(spread, fmean(stated)) / sqrt(len(logs))
    return SoilingLoss(visit, len(pairs), ratio, uncertainty)


def _own(side: list[Observation], name: str) -> float:
    return side[0].uncertainty[name].own / sqrt(len(side))


def _mean_log(side: list[Observation], name: str) -> float:
    return fmean(log(one.values[name]) for one in side)


def without_soiling(
    observations: Sequence[Observation], losses: dict[int, SoilingLoss]
) -> list[Observation]:
    """Cleaned traces as they are; others of a visit with pairs raised by that visit's loss.

    Where a string was traced both ways, its uncleaned traces are left out. On a visit with
    pairs a trace whose note says nothing counts as uncleaned. On a visit without pairs nothing
    is changed, so a change of soiling stays in the rate.
    """
    cleaned = {(one.visit, one.place) for one in observations if one.cleaned}
    kept: list[Observation] = []
    for one in observations:
        if one.cleaned or one.visit not in losses:
            if one.cleaned is not False or (one.visit, one.place) not in cleaned:
                kept.append(one)
        elif (one.visit, one.place) not in cleaned:
            kept.append(_corrected(one, losses[one.visit]))
    return kept


def _corrected(one: Observation, loss: SoilingLoss) -> Observation:
    return replace(
        one,
        values={name: one.values[name] / loss.ratio[name] for name in QUANTITIES},
        uncertainty={
            name: Shares(
                one.uncertainty[name].own,
                hypot(one.uncertainty[name].common, loss.uncertainty[name]),
            )
            for name in QUANTITIES
        },
    )
