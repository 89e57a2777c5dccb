"""Half a string of weaker modules, traced until short of open circuit."""

import pytest

from tests.analysis.signatures.strings_of_groups import read, sweep

STRING = (7.35, 1.2e-10, 1.43, 30000.0, 10.05)
WEAK, LEVEL = 9, 0.877


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("share_of_v_oc", [0.965, 1.0])
def test_the_stair_is_told_where_the_sweep_ends_early_too(share_of_v_oc: float, seed: int) -> None:
    levels = [1.0] * WEAK + [LEVEL] * WEAK
    voltage, current = sweep(STRING, levels, (0.0016, 0.00027), seed, share_of_v_oc)
    reading = read(STRING, voltage, current, len(levels), parallel_paths=2)
    assert [one.kind for one in reading.signatures] == ["step"]
    assert reading.signatures[0].details["bypass_groups"] == WEAK
    assert reading.signatures[0].size == pytest.approx(LEVEL, abs=0.02)
