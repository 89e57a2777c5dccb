"""The whole numbers of groups that a fit's stairs stand for, decided together.

A fit finds shares of the string, which are whole groups only nearly. A stair made one group
higher takes voltage from the string's shift, resistance and other stairs, as far as the sweep
lets them move; the numbers that fit well and leave the string usual are the likely ones. All
numbers near the fitted ones are weighed by the fit's own curvature, the likeliest few are fitted,
and the best of those is kept.
"""

from dataclasses import replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.signatures.likely_counts import likely_counts
from viewer.analysis.signatures.sweep_problem import Problem
from viewer.analysis.signatures.usual_string import KNEE_SPREAD, USUAL_KNEE
from viewer.analysis.string_fit.reduced_string import GROUPS, stair_count, stair_place, stairs_of
from viewer.analysis.string_fit.signature_fit import BASE, Fit, free_places
from viewer.analysis.string_fit.taking_turns import side_by_side

Array = NDArray[np.float64]

FARTHEST = 1.6
"""Numbers within so many groups of the likeliest share are weighed."""
MOST_NUMBERS = 3
TRIED = 3
ASTRAY = 8.0
"""Squared deviations beyond the expected ones that tell a fit gone astray."""
CLOSE = 12.0
"""Numbers that are worse than the best by less, in squared deviations, are fitted too."""
CORRELATED = 2.0
"""By so much squared deviations overstate which number is right, for neighbouring points err alike:
with it 0.96 of 1,488 simulated strings' numbers were likely to be right, and as many were."""
LikelyGroups = tuple[tuple[int, int], ...]


async def whole_groups(problem: Problem, fit: Fit) -> tuple[Fit, LikelyGroups]:
    """The fit with the likeliest whole numbers of groups, the rest fitted again.

    Beside it for each of its stairs the fewest and most groups that are likely.
    """
    problem = replace(
        problem, prior=replace(problem.prior, knee=USUAL_KNEE, knee_width=KNEE_SPREAD)
    )
    free = free_places(BASE, stair_count(fit.vector))
    fit = await problem.fit(fit.vector, fit.present, free, 4)
    starts, weights = _likely_starts(problem, fit)
    order = np.argsort(weights)
    kept = [k for k in order[:TRIED] if weights[k] - weights[order[0]] < CLOSE]
    plain = _rounded(problem, fit)
    places = [stair_place(k, GROUPS) for k in range(stair_count(fit.vector))]
    searches = [_fitted(problem, fit, starts[k], weights[k] - weights[order[0]]) for k in kept]
    if not any(np.allclose(starts[k][places], plain[places]) for k in kept):
        searches.append(_fitted(problem, fit, plain, 0.0))
    fits = await side_by_side(searches)
    unit = problem.unit(*fits)
    best = min(fits, key=lambda one: problem.worth(one, unit))
    told = best.vector[places] * problem.groups
    return best, _likely_groups(starts[:, places] * problem.groups, weights, told)


def _likely_groups(numbers: Array, weights: Array, told: Array) -> LikelyGroups:
    """Of each stair, from how little speaks for each set of numbers (sets, stairs)."""
    likely = np.exp(-0.5 / CORRELATED * (weights - weights.min()))
    ranges = []
    for stair, count in enumerate(np.rint(told).astype(int).tolist()):
        of_stair = np.rint(numbers[:, stair]).astype(int)
        each = {n: float(likely[of_stair == n].sum()) for n in set(of_stair.tolist())}
        ranges.append(likely_counts(each, count))
    return tuple(ranges)


def _rounded(problem: Problem, fit: Fit) -> Array:
    """The fit's vector with the nearest whole numbers, whatever its curvature says of them."""
    vector = fit.vector.copy()
    stairs = stairs_of(vector)
    stairs[:, GROUPS] = np.maximum(np.round(stairs[:, GROUPS] * problem.groups), 1) / problem.groups
    return vector


async def _fitted(problem: Problem, fit: Fit, start: Array, worse: float) -> Fit:
    """The fit with a start's numbers of groups, that should be `worse` by so much than the best.

    Where the curvature led astray, the fit starts once more with nothing but the groups moved.
    """
    free = free_places(BASE, stair_count(start), fixed_groups=True)
    found = await problem.fit(start, fit.present, free, 8)
    if found.total < fit.total + (worse + ASTRAY) * problem.unit(fit):
        return found
    near = fit.vector.copy()
    places = [stair_place(k, GROUPS) for k in range(stair_count(start))]
    near[places] = start[places]
    again = await problem.fit(near, fit.present, free, 12)
    return min(found, again, key=lambda one: one.total)


def _likely_starts(problem: Problem, fit: Fit) -> tuple[Array, Array]:
    """Vectors with whole numbers, one for each set of numbers, and how little speaks for each."""
    places = np.array([stair_place(k, GROUPS) for k in range(stair_count(fit.vector))])
    shares = np.isin(fit.free, places)
    rest = ~shares
    unit = problem.unit(fit)
    lost = problem.usual.lost(fit.vector, fit.present) * problem.groups
    starts: list[Array] = []
    weights: list[Array] = []
    for missing in sorted({0, *(max(0, round(lost) + d) for d in (-1, 0, 1))}):
        rows, values = problem.usual.ties(fit.vector, fit.present, missing)
        rows = rows[:, fit.free]
        normal = fit.normal / unit + rows.T @ rows
        pull = fit.gradient / unit + rows.T @ values
        solved = np.linalg.solve(
            normal[np.ix_(rest, rest)],
            np.column_stack((normal[np.ix_(rest, shares)], pull[rest])),
        )
        over, moved = solved[:, :-1], solved[:, -1]
        left = normal[np.ix_(shares, shares)] - normal[np.ix_(shares, rest)] @ over
        along = pull[shares] - normal[np.ix_(shares, rest)] @ moved
        likeliest = fit.vector[places] + np.linalg.solve(left, along)
        numbers = _near(likeliest * problem.groups) / problem.groups
        away = numbers - fit.vector[places]
        constant = float(values @ values) - float(pull[rest] @ moved)
        weights.append(
            np.einsum("ij,ij->i", away @ left, away)
            - 2.0 * away @ along
            + constant
            + problem.usual.price_of_lost(missing)
        )
        start = np.tile(fit.vector, (len(numbers), 1))
        start[:, fit.free[rest]] += moved - away @ over.T
        start[:, places] = numbers
        starts.append(start)
    return _each_once(np.concatenate(starts), np.concatenate(weights), places)


def _each_once(starts: Array, weights: Array, places: Array) -> tuple[Array, Array]:
    """Each set of numbers with its likeliest start."""
    order = np.argsort(weights, kind="stable")
    _, first = np.unique(np.round(starts[order][:, places], 9), axis=0, return_index=True)
    kept = order[first]
    return starts[kept], weights[kept]


def _near(shares: Array) -> Array:
    """Sets of whole numbers near those shares of groups, shape (sets, stairs)."""
    choices = []
    for share in shares:
        near = np.arange(max(np.ceil(share - FARTHEST), 1.0), max(share + FARTHEST, 1.0) + 1e-9)
        choices.append(near[np.argsort(np.abs(near - share))[:MOST_NUMBERS]])
    return np.array(list(product(*choices)))
