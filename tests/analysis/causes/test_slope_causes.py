"""Contacts, leaks, unequal modules and a moving sun."""

import pytest

from tests.analysis.causes.made_readings import (
    reading,
)
from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.results.trace_result import Signature
from viewer.analysis.signatures.signature_words import (
    rounded_knee,
    slope_near_isc,
    slope_near_voc,
)


def test_series_resistance() -> None:
    causes = rank_causes(
        reading(
            signatures=(slope_near_voc(3.0, 0.4, 400.0, 5000.0),),
            losses={"slope_near_voc": 400.0},
        )
    )
    assert causes[0].cause == "series_resistance"


@pytest.mark.parametrize(
    ("signature", "steady"),
    [
        (slope_near_isc(0.01, 60, 0.05, 200.0, 5000.0), "shunt"),
        (rounded_knee(0.02, 200.0, 5000.0), "module_mismatch"),
    ],
)
def test_an_irradiance_that_moved_tilts_and_bends_a_curve(
    signature: Signature, steady: str
) -> None:
    shows = reading(signatures=(signature,), losses={signature.kind: 200.0})
    first = rank_causes(shows)[0]
    assert first.cause == steady
    assert first.likelihood >= 0.8
    unsteady = rank_causes(shows, CauseContext(irradiance_unsteady=True))
    assert unsteady[0].cause == "irradiance_input"
    assert "changed during the sweep" in unsteady[0].evidence
    other = next(one for one in unsteady if one.cause == steady)
    assert "changed during the sweep" in other.against
