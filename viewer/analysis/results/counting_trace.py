"""Which of several traces of a string stands for it where strings are counted or added up."""

import math
from collections.abc import Iterable

from viewer.analysis.results.trace_result import IRRADIANCE_DRIFT, TraceResult

DISQUALIFYING_CHECKS: frozenset[str] = frozenset(
    {
        "missing values",
        "irradiance for power",
        "irradiance plausible",
        IRRADIANCE_DRIFT,
        "temperature plausible",
    }
)
"""Condition checks without which a trace at STC is worth little for comparing years, and gives way
to another of the same day."""


def counting_traces(results: Iterable[TraceResult]) -> dict[tuple[str, str], TraceResult]:
    """One trace a string, by combiner and string (its source where it has no string).

    That of the latest day; of several on that day those come first that have values at STC, then
    those that passed the checks which matter for power, then the later: a sweep repeated in the
    evening does not take the place of one in good sun.
    """
    counting: dict[tuple[str, str], tuple[tuple[float, ...], TraceResult]] = {}
    for one in results:
        trace = one.trace
        key = (trace.combiner or "", trace.string or trace.source)
        rank = _rank(one)
        known = counting.get(key)
        if known is None or rank >= known[0]:
            counting[key] = rank, one
    return {key: one for key, (_, one) in counting.items()}


def _rank(result: TraceResult) -> tuple[float, ...]:
    at = result.trace.measured_at
    day = -math.inf if at is None else float(at.toordinal())
    moment = -math.inf if at is None else at.timestamp()
    fit = not any(
        check.check in DISQUALIFYING_CHECKS
        for check in result.conditions.checks
        if not check.passed
    )
    return day, float(result.translated is not None), float(fit), moment
