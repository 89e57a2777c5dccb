"""Shade, faulty cell or weaker modules: what evidence beside the curve changes."""

import pytest

from tests.analysis.causes.made_readings import (
    likelihood,
    neighbours,
    one_stair,
)
from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.signatures.signature_reading import SignatureReading


def test_one_stair_alone_leaves_shade_and_cell_open() -> None:
    causes = rank_causes(one_stair())
    assert {c.cause for c in causes[:2]} == {"shading", "cell_fault"}
    assert max(c.likelihood for c in causes) < 0.75
    assert "cannot tell" in causes[0].against


@pytest.mark.parametrize(
    ("context", "first"),
    [
        (CauseContext(same_stairs=True), "cell_fault"),
        (CauseContext(same_stairs=False), "shading"),
        (CauseContext(note="shadow of the tree to the west"), "shading"),
        (CauseContext(note="visible hot spot, cracked glass"), "cell_fault"),
        (CauseContext(neighbours=neighbours(steps=6)), "shading"),
    ],
)
def test_more_evidence_decides(context: CauseContext, first: str) -> None:
    causes = rank_causes(one_stair(), context)
    assert causes[0].cause == first
    assert causes[0].likelihood > 0.75


def test_a_stair_that_changed_is_not_told_as_gone() -> None:
    """It may be there at another level; and a repair between the traces changes it as well."""
    causes = {one.cause: one for one in rank_causes(one_stair(), CauseContext(same_stairs=False))}
    assert "does not show the same step" in causes["cell_fault"].against
    assert "mended" in causes["shading"].against


def test_many_limited_groups_are_a_shade_rather_than_cells() -> None:
    assert rank_causes(one_stair(8))[0].cause == "shading"
    assert rank_causes(one_stair(8))[0].likelihood > likelihood(
        rank_causes(one_stair(1)), "shading"
    )


@pytest.mark.parametrize("groups", [6, 12, 24, 25])
def test_whole_modules_a_little_below_the_rest_are_weaker_modules(groups: int) -> None:
    """Of many groups one more or less is counted as easily."""
    causes = rank_causes(one_stair(groups, level=0.87))
    assert causes[0].cause == "module_mismatch"
    assert "shade" in causes[0].against
    assert likelihood(causes, "shading") > 0.05


@pytest.mark.parametrize(
    ("stair", "context"),
    [
        (one_stair(12, level=0.6), CauseContext()),
        (one_stair(11, level=0.87), CauseContext()),
        (one_stair(3, level=0.87), CauseContext()),
        (one_stair(12, cells=0.1, level=0.87), CauseContext()),
        (one_stair(12, level=0.87), CauseContext(same_stairs=False)),
        (one_stair(12, level=0.87), CauseContext(note="shadow of the next row")),
    ],
)
def test_what_weaker_modules_would_not_show(stair: SignatureReading, context: CauseContext) -> None:
    """Deep, not of whole modules, one module alone, few cells, or gone at another time."""
    assert rank_causes(stair, context)[0].cause != "module_mismatch"
