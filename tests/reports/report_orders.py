"""Invented orders for reports of any size, for tests and benchmarks of documents."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from tests.invented_results import FIRST_DAY, MODULES, SECOND_DAY, invented_layout, invented_result
from viewer.analysis.results.trace_result import CandidateCause, Signature, TraceResult
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.site_data.report_details_file import EnteredDetails
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout
from viewer.site_data.warranty_terms import WarrantyTerms
from viewer.state.reporting.report_making import ReportOrder

PRINTED_ON = date(2025, 7, 1)
TERMS = WarrantyTerms(2.0, 0.5, 25.0, start=date(2023, 5, 1))


def many_results(count: int, every: int = 1, visits: int = 2) -> tuple[TraceResult, ...]:
    """Some strings on one or two visits; every so-manieth lost current on the last one."""
    made = []
    for at in (FIRST_DAY, SECOND_DAY)[2 - visits :]:
        for place in range(count):
            name = f"S{place % 20 + 1:02}"
            short = at == SECOND_DAY and place % every == 0
            one = invented_result(
                f"C{place // 20 + 1}",
                name,
                at + timedelta(seconds=30 * place),
                0.10 if short else 0.01,
                cause="soiling" if short else "none",
            )
            made.append(told(one) if short else one)
    return tuple(made)


def told(result: TraceResult) -> TraceResult:
    """The result with a signature and a second cause in words."""
    signature = Signature("low_current", 0.1, "1", "The current is 10.5 % below the prediction.")
    cause = CandidateCause("soiling", 0.62, "All currents are 10.5 % low.", "Clean and retest.")
    other = CandidateCause("degradation", 0.28, "Also lowers the current.", "Compare a baseline.")
    return replace(result, signatures=(signature,), candidate_causes=(cause, other))


def many_layout(count: int) -> SiteLayout:
    base = invented_layout(1, 1)
    boxes = tuple(
        Combiner(
            f"C{box + 1}",
            tuple(StringLayout(f"S{one + 1:02}", "INV", MODULES) for one in range(20)),
        )
        for box in range(-(-count // 20))
    )
    modules = {key: replace(sheet, warranty=TERMS) for key, sheet in base.modules.items()}
    return replace(base, combiners=boxes, modules=modules)


def order(
    kind: str, results: tuple[TraceResult, ...], layout: SiteLayout, **values: Any
) -> ReportOrder:
    entered = EnteredDetails(values, ())
    return ReportOrder(kind, layout, results, entered, PRINTED_ON, InputUncertainties())
