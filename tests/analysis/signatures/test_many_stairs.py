"""Shades of many levels, and stairs that cost nothing."""

import numpy as np
import pytest

from tests.analysis.signatures.strings_of_groups import read, sweep
from viewer.analysis.signatures import signature_sizes
from viewer.analysis.signatures.concavity import feet_of

STRING = (8.55, 9e-9, 3.1, 15000.0, 35.0)
GROUPS = 54
SHORT_STRING = (8.55, 9e-9, 2.1, 10000.0, 23.3)


@pytest.mark.parametrize("seed", range(3))
def test_a_penumbra_is_no_leak(seed: int) -> None:
    shaded = np.linspace(0.39, 0.91, 8).round(4).tolist()
    levels = [1.0] * (GROUPS - len(shaded)) + shaded
    voltage, current = sweep(STRING, levels, (0.001, 0.0003), seed)
    assert len(feet_of(voltage, current, STRING[0])) >= 2
    kinds = {one.kind for one in read(STRING, voltage, current, GROUPS).signatures}
    assert "step" in kinds
    assert "slope_near_isc" not in kinds


@pytest.mark.parametrize(
    "shaded",
    [(0.4, 0.5, 0.6, 0.7, 0.82), (0.35, 0.47, 0.6, 0.72, 0.84), (0.3, 0.43, 0.56, 0.7, 0.84)],
)
def test_five_levels_are_told_one_by_one(shaded: tuple[float, ...]) -> None:
    levels = [1.0] * 21 + [level for level in shaded for _ in range(3)]
    voltage, current = sweep(SHORT_STRING, levels, (0.0005, 0.0002), 1)
    signatures = read(SHORT_STRING, voltage, current, len(levels)).signatures
    steps = [one for one in signatures if one.kind == "step"]
    assert [one.size for one in steps] == pytest.approx(shaded, abs=0.02)
    assert [one.details["bypass_groups"] for one in steps] == [3] * 5


def test_a_stair_that_costs_next_to_nothing_is_not_told(monkeypatch: pytest.MonkeyPatch) -> None:
    voltage, current = sweep(STRING, [1.0] * (GROUPS - 1) + [0.94], (0.0003, 0.0001), 1)
    (step,) = read(STRING, voltage, current, GROUPS).signatures
    share = step.details["loss"] / float(np.max(voltage * current))
    monkeypatch.setattr(signature_sizes, "LEAST_STAIR_LOSS", 1.1 * share)
    assert read(STRING, voltage, current, GROUPS).signatures == ()
