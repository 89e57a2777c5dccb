"""Which explanation of a sweep is the simplest that explains it.

Four explanations are tried only as far as the sweep asks for them: the string as predicted but
scaled, shifted, with extra resistance and leakage; the same with stairs (limited groups); with
some groups leaking (a shunt in a few modules); and with a spread of the modules' currents (many
stairs close below the full current). A richer one is taken only when it lowers the squared
residuals by more than its parameters are worth.
"""

from dataclasses import dataclass

import numpy as np

from viewer.analysis.signatures.explanations import fit_as_predicted, fit_leaking, whole_modules
from viewer.analysis.signatures.stair_growth import fit_stairs, grow, with_leaky_cells
from viewer.analysis.signatures.stair_search import (
    measured_scale,
    read_deficit,
    stairs_are_plain,
)
from viewer.analysis.signatures.stair_vectors import may_be_leaks
from viewer.analysis.signatures.sweep_problem import PRICE_OF_A_STAIR, Problem
from viewer.analysis.signatures.usual_string import UsualString
from viewer.analysis.signatures.whole_groups import LikelyGroups, whole_groups
from viewer.analysis.string_fit.reduced_string import FORWARD_VOLTAGES, Reference, stair_count
from viewer.analysis.string_fit.signature_fit import (
    HALF_CUT_LEAK_WIDTH,
    STAIR_LEAK_WIDTH,
    Fit,
    Prior,
    Sweep,
)

AS_PREDICTED, STAIRS, LEAKING_GROUPS, MISMATCH = (
    "as predicted",
    "stairs",
    "leaking groups",
    "mismatch",
)

PRICE_OF_LEAKING_GROUPS, PRICE_OF_A_LEAK = 8.0, 6.0
"""Of groups that leak, and of some that leak more than the others."""
PRICE_OF_MISMATCH = 40.0
"""Its many stairs are one spread, but bend to nearly any curve, that of a leak too."""
FEWEST_LEAKING, FEW_LEAKING = 1.6, 3.2
"""A leak within one group alone is a limited cell, not a leaking group; few may be either."""
NOTICEABLE_LOSS = 0.03
"""Of the open-circuit voltage: from there on whole groups may be lost."""


@dataclass(frozen=True)
class FirstGuess:
    """`scale` of the current over the prediction's, `present` the share of groups not lost."""

    scale: float
    present: float


@dataclass(frozen=True, eq=False)
class Choice:
    """The chosen explanation: its name, its fit and the problem it explains."""

    explanation: str
    fit: Fit
    problem: Problem
    likely_groups: LikelyGroups = ()
    """Of each of the fit's stairs, where they stand for limited groups."""


def problem_of(
    reference: Reference, sweep: Sweep, usual: UsualString, parallel_paths: int = 1
) -> Problem:
    """The sweep as a problem to explain.

    `usual` is what a string of that many groups is like, `parallel_paths` 2 for half-cut modules.
    """
    leak_width = HALF_CUT_LEAK_WIDTH if parallel_paths > 1 else STAIR_LEAK_WIDTH
    return Problem(reference, sweep, usual.groups, Prior(leak_width=leak_width), usual)


async def choose_explanation(problem: Problem) -> Choice:
    """The simplest explanation of the sweep."""
    guess = first_guess(problem)
    base = await fit_as_predicted(problem, guess.scale, guess.present)
    stairs = await _stairs(problem, guess.scale, base)
    if stair_count(stairs.vector) == 0 and problem.good(stairs):
        return Choice(AS_PREDICTED, stairs, problem)
    rivals = await _rivals(problem, guess.scale, base, stairs)
    unit = problem.unit(*(fit for _, fit, _ in rivals))
    name, fit, _ = min(rivals, key=lambda r: problem.worth(r[1], unit) + r[2])
    if name != STAIRS:
        return Choice(name, fit, problem)
    if stair_count(fit.vector) == 0:
        return Choice(AS_PREDICTED, fit, problem)
    if problem.is_mismatch(fit):
        return Choice(MISMATCH, await whole_modules(problem, fit), problem)
    fit, likely = await whole_groups(problem, fit)
    return Choice(STAIRS, fit, problem, likely)


async def _stairs(problem: Problem, scale: float, base: Fit) -> Fit:
    """The best fit with stairs, which may have none."""
    if problem.good(base) and not problem.usual.may_be_unequal(base.vector):
        return await grow(problem, base)
    deficits = read_deficit(problem.reference, problem.sweep, problem.groups, scale, base.present)
    return await fit_stairs(problem, scale, base, deficits)


async def _rivals(
    problem: Problem, scale: float, base: Fit, stairs: Fit
) -> list[tuple[str, Fit, float]]:
    """Explanations with their fits and further prices; leaking groups only where there is need."""
    price = 0.0
    if problem.is_mismatch(stairs):
        price = PRICE_OF_MISMATCH - PRICE_OF_A_STAIR * stair_count(stairs.vector)
    rivals = [(AS_PREDICTED, base, 0.0), (STAIRS, stairs, price)]
    leaky = problem.usual.may_be_unequal(base.vector) or may_be_leaks(stairs.vector)
    if problem.good(stairs) and not leaky:
        return rivals
    leaking = await fit_leaking(problem, scale, base.present, stairs)
    groups = leaking.stair_share * problem.groups
    if groups < FEW_LEAKING and leaking.cost < stairs.cost:
        rivals.append((STAIRS, await with_leaky_cells(problem, leaking), 0.0))
    if groups > FEWEST_LEAKING and not stairs_are_plain(problem.sweep):
        leaks = stair_count(leaking.vector)
        price = PRICE_OF_LEAKING_GROUPS + PRICE_OF_A_LEAK * (leaks - 1) - PRICE_OF_A_STAIR * leaks
        rivals.append((LEAKING_GROUPS, leaking, price))
    return rivals


def open_circuit(sweep: Sweep) -> float:
    """Voltage at zero current by a line through the last points, in units."""
    level = 0.12 * float(sweep.current.max())
    at = np.flatnonzero(sweep.current < level)
    at = at[-8:] if at.size >= 3 else np.arange(sweep.voltage.size)[-3:]
    i, v = sweep.current[at], sweep.voltage[at]
    if i.max() - i.min() < 1e-6:
        return float(v[-1])
    mean_i, mean_v = float(i.mean()), float(v.mean())
    away = i - mean_i
    slope = float(away @ v) / float(away @ away)
    return mean_v - slope * mean_i if slope < 0.0 else float(v[-1])


def first_guess(problem: Problem) -> FirstGuess:
    """What the sweep's ends tell."""
    scale = measured_scale(problem.sweep)
    expected = float(np.interp(scale, problem.reference.forward, FORWARD_VOLTAGES))
    lost = 1.0 - open_circuit(problem.sweep) / expected
    if lost < NOTICEABLE_LOSS:
        return FirstGuess(scale, 1.0)
    groups = problem.groups
    return FirstGuess(scale, 1.0 - min(round(lost * groups), groups - 1) / groups)
