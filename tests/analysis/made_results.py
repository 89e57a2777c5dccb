"""Results made by hand, for tests of what is built on them."""

from datetime import datetime

import numpy as np

from viewer.analysis.results.trace_result import (
    CandidateCause,
    Curve,
    Signature,
    TraceResult,
    UsedConditions,
)
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.site_data.iv_trace import Trace

PREDICTED = KeyPoints(8.0, 750.0, 7.5, 600.0, 4500.0, 0.75)


def made_result(
    combiner: str,
    string: str,
    ratio: float | None = 1.0,
    loss: dict[str, float] | None = None,
    cause: str = "soiling",
    measured_at: datetime | None = None,
    source: str | None = None,
    uncertainty: float | None = 0.03,
) -> TraceResult:
    """A string at 800 W/m² with that power ratio; None for one without a prediction."""
    p = PREDICTED
    power = p.p_mp * (ratio if ratio is not None else 1.0)
    measured = KeyPoints(p.i_sc, p.v_oc, p.i_mp, power / p.i_mp, power, power / p.i_sc / p.v_oc)
    empty = np.zeros(0)
    trace = Trace(source or f"{combiner}/{string}.csv", empty, empty, combiner, string, measured_at)
    signatures = tuple(
        Signature(kind, 0.1, "fraction", f"{kind} of {watt} W", {"loss": watt})
        for kind, watt in (loss or {}).items()
    )
    first = cause if signatures else "none"
    return TraceResult(
        trace=trace,
        measured=measured,
        measured_curve=Curve(empty, empty),
        conditions=UsedConditions(800.0, 40.0),
        predicted=p if ratio is not None else None,
        translated=measured,
        power_ratio=ratio,
        power_ratio_uncertainty=uncertainty,
        signatures=signatures,
        candidate_causes=(CandidateCause(first, 0.8, "made", "none"),) if ratio else (),
    )
