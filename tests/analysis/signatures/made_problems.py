"""Sweeps of strings of bypass groups as problems to explain, and fits of them by hand."""

from collections.abc import Awaitable, Sequence
from typing import TypeVar

import numpy as np

from tests.analysis.signatures.strings_of_groups import sweep
from viewer.analysis.signatures.explanations import usual_start
from viewer.analysis.signatures.signature_choice import problem_of
from viewer.analysis.signatures.signature_reading import InputUncertainty, Situation
from viewer.analysis.signatures.signatures import prepare
from viewer.analysis.signatures.sweep_problem import Problem
from viewer.analysis.signatures.usual_string import usual_string
from viewer.analysis.string_fit.taking_turns import answered
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.single_diode import DiodeParameters

GROUPS = 36
STRING = (8.55, 9e-9, 2.1, 10000.0, 23.3)
"""The five parameters of a string of so many groups."""
KNOWN = Situation(KeyPoints(8.5, 480.0, 8.0, 390.0, 3120.0, 0.76), InputUncertainty())

Found = TypeVar("Found")


def problem(levels: Sequence[float], noise: float = 0.001, seed: int = 1) -> Problem:
    """`levels` are the shares of the current of the groups left of a string of GROUPS."""
    left = len(levels) / GROUPS
    string = (*STRING[:2], *(left * value for value in STRING[2:]))
    voltage, current = sweep(string, levels, (noise, 0.3 * noise), seed)
    reference, made = prepare(voltage, current, DiodeParameters.of(*STRING), GROUPS)
    return problem_of(reference, made, usual_string(GROUPS, KNOWN))


def with_stairs(*stairs: tuple[float, float, float, float]) -> np.ndarray:
    """A usual string with stairs of (groups, fraction, cells, leak)."""
    rows = [(groups / GROUPS, *rest) for groups, *rest in stairs]
    return np.concatenate((usual_start(1.0), np.ravel(rows)))


def found(search: Awaitable[Found]) -> Found:
    (one,) = answered([search])
    return one
