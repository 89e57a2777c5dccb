"""A dead group that is the voltage which all strings of a combiner lack."""

from dataclasses import replace

import pytest

from tests.analysis.causes.made_readings import one_stair, reading
from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.causes.neighbours import NeighbourEvidence
from viewer.analysis.causes.shared_voltage import with_shared_voltage
from viewer.analysis.signatures.signature_reading import SignatureReading

PER_KELVIN = -0.0029
SPREAD = 0.0025


def dead(groups: int = 1, level: float = 0.02) -> SignatureReading:
    one = one_stair(groups, level=level)
    losses = {"step": one.stairs[0].loss}
    return replace(one, losses=losses, predicted_v_oc=750.0, bypass_groups=60)


def beside(common: float, own: float) -> NeighbourEvidence:
    """Of a string `own` above neighbours that deviate by `common` in voltage."""
    return NeighbourEvidence(12, 0.0, common, 0.0, own, 0.0, own / SPREAD, 0)


def test_where_all_lack_as_much_it_is_the_temperature() -> None:
    seen, evidence = with_shared_voltage(dead(2), beside(-0.033, 0.034), PER_KELVIN)
    assert not seen.of_kind("step")
    assert seen.stairs == ()
    assert seen.losses["step"] == pytest.approx(0.0)
    assert evidence.voltage_is_common
    causes = rank_causes(seen, CauseContext(neighbours=evidence))
    assert causes[0].cause == "temperature_input"
    assert not {"cell_fault", "bypass_short", "shading"} & {one.cause for one in causes}


@pytest.mark.parametrize(
    ("given", "common", "own"),
    [
        (dead(1), 0.0, 0.0167),  # sound neighbours: the group is this string's
        (dead(1), -0.033, 0.033),  # they lack twice as much
        (dead(1), -0.0167, 0.0),  # it lacks as much as they beside its dead group
        (dead(1, level=0.4), -0.0167, 0.0167),  # limited, not dead
        (reading(), -0.0167, 0.0167),
    ],
)
def test_otherwise_it_stays(given: SignatureReading, common: float, own: float) -> None:
    evidence = beside(common, own)
    assert with_shared_voltage(given, evidence, PER_KELVIN) == (given, evidence)


def test_a_small_shared_voltage_is_no_finding() -> None:
    seen, _ = with_shared_voltage(
        replace(dead(1), bypass_groups=96), beside(-0.0104, 0.0104), PER_KELVIN
    )
    assert seen.of_kind("step") == ()
