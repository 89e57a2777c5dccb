"""Strings without single stairs, as predicted or of unequal modules; pvlib makes the curves."""

import numpy as np
import pytest

from tests.analysis.signatures.made_problems import GROUPS, found, problem, with_stairs
from viewer.analysis.signatures.explanations import (
    fit_as_predicted,
    usual_start,
    whole_modules,
)
from viewer.analysis.string_fit.reduced_string import (
    CELLS,
    CURRENT,
    FRACTION,
    SPREAD,
    STRING_PARAMETERS,
    stairs_of,
)
from viewer.analysis.string_fit.reduced_string import GROUPS as SHARE
from viewer.analysis.string_fit.signature_fit import BASE, USUAL_SPREAD, free_places


def test_a_start_has_room_for_stairs_of_no_groups() -> None:
    start = usual_start(0.8, 2)
    assert start.size == usual_start(0.8).size + 8
    assert not start[STRING_PARAMETERS:].any()
    # near short circuit the string follows its stronger groups
    assert start[CURRENT] * (1.0 + start[SPREAD]) == pytest.approx(0.8, rel=1e-3)
    assert start[SPREAD] == USUAL_SPREAD


def test_a_dirty_string_is_as_predicted_but_for_its_current() -> None:
    made = problem([0.8] * GROUPS)
    fit = found(fit_as_predicted(made, 0.8, 1.0))
    assert made.good(fit)
    assert fit.vector[CURRENT] == pytest.approx(0.8, abs=0.005)


def test_unequal_modules_are_whole_ones_at_more_levels_than_a_fit_had() -> None:
    """Of six levels in half the string one stair of few cells tells nothing."""
    levels = np.repeat(np.linspace(0.83, 0.93, 6), 3).tolist()
    made = problem(levels + [1.0] * 18)
    one = found(made.fit(with_stairs((18, 0.88, 0.4, 0.006)), 1.0, free_places(BASE, 1), 20))
    fit = found(whole_modules(made, one))
    stairs = stairs_of(fit.vector)
    assert stairs[:, CELLS].tolist() == [1.0, 1.0]
    assert np.ptp(stairs[:, FRACTION]) > 0.02
    assert stairs[:, SHARE].sum() == pytest.approx(0.5, abs=0.06)
    mean = float(stairs[:, SHARE] @ stairs[:, FRACTION]) / float(stairs[:, SHARE].sum())
    assert mean == pytest.approx(0.88, abs=0.012)
