"""This year's sample from what is known of a site: the plan, its history and what it can show."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from viewer.analysis.results.trace_result import TraceResult
from viewer.analysis.years.observation import observe, stc_uncertainty
from viewer.analysis.years.sample_plan import Place, SamplePlan, plan_sample
from viewer.analysis.years.sample_power import USUAL_BETWEEN, Detection, detectable
from viewer.analysis.years.trend import GroupRate, trend
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.reports.sample_table import NO_MEAN_RATE
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.visit_grouping import group_visits
from viewer.state.years.traced_strings import TracedStrings, traced_strings

SPANS = (1.0, 2.0, 5.0, 10.0)
"""Years between two tracings for which the detectable loss is stated."""


@dataclass(frozen=True)
class SampleWish:
    """What is asked of the plan: shares as fractions; extra strings to trace; the seed."""

    share: float = 0.10
    panel_share: float = 0.5
    seed: int = 1
    add_short: bool = True
    """Add strings that fell short when last traced."""
    suspects: tuple[Place, ...] = ()


@dataclass(frozen=True, eq=False)
class PlannedSample:
    """The plan, the visit each string was last traced on, and what two such tracings can show."""

    plan: SamplePlan
    last_traced: dict[Place, str]
    power: tuple[Detection, ...] = ()


def planned_sample(
    layout: SiteLayout,
    results: Sequence[TraceResult],
    wish: SampleWish,
    inputs: InputUncertainties,
    between: float | None = None,
) -> PlannedSample:
    """The sample for this year. Raises ValueError with one sentence for impossible wishes.

    between: standard deviation of the strings' true rates, %/year; None takes USUAL_BETWEEN.
    """
    traced = traced_strings(results, group_visits([one.trace for one in results]))
    return sample_of(layout, traced, wish, inputs, between)


def sample_of(
    layout: SiteLayout,
    traced: TracedStrings,
    wish: SampleWish,
    inputs: InputUncertainties,
    between: float | None = None,
) -> PlannedSample:
    """The same from what is known of each string already."""
    suspects = list(wish.suspects)
    if wish.add_short:
        suspects += traced.short
    plan = plan_sample(
        layout,
        share=wish.share,
        panel_share=wish.panel_share,
        traced=traced.visits,
        suspects=suspects,
        seed=wish.seed,
    )
    spread = USUAL_BETWEEN if between is None else between
    return PlannedSample(plan, traced.last, detections(plan, layout, inputs, spread))


def detections(
    plan: SamplePlan, layout: SiteLayout, inputs: InputUncertainties, between: float
) -> tuple[Detection, ...]:
    """What the sample can show over SPANS; nothing with fewer than two strings."""
    if len(plan.sampled) < 2:
        return ()
    uncertainty = stc_uncertainty(layout.modules.get(usual_module(layout)), inputs)["p_mp"]
    return tuple(
        detectable(len(plan.sampled), plan.population, span, uncertainty, between=between)
        for span in SPANS
    )


def usual_module(layout: SiteLayout) -> str:
    """The module type of most strings."""
    kinds = Counter(one.module for box in layout.combiners for one in box.strings)
    return kinds.most_common(1)[0][0]


def between_strings(usual: GroupRate | None) -> float:
    """Standard deviation of true rates between strings, %/year: the traces' own, else the usual."""
    return usual.between if usual is not None and usual.between > 0 else USUAL_BETWEEN


def between_from_traces(
    results: Sequence[TraceResult], layout: SiteLayout, inputs: InputUncertainties
) -> float:
    """The same from results that have not been evaluated over the years yet."""
    return between_strings(trend(observe(results, layout, inputs), layout).usual)


def detection_sentences(power: Iterable[Detection]) -> list[str]:
    """What two tracings of the sample can show, in words."""
    found = list(power)
    if not found:
        return [NO_MEAN_RATE]
    first = found[0]
    said = [
        f"Two tracings of these {first.strings} strings give the site's mean rate with a "
        f"{100 * first.confidence:.0f} % interval. A loss is shown with a probability of "
        f"{100 * first.power:.0f} % when it is at least:"
    ]
    for one in found:
        years = "1 year" if one.span == 1 else f"{one.span:g} years"
        said.append(
            f"{years} apart: {one.smallest:.2f} %/year (interval ± {one.half_width:.2f}; with "
            f"every string traced {one.floor:.2f})"
        )
    return said
