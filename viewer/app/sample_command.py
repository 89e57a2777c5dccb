"""`curvewright sample`: which strings to trace this year, and what that can show."""

import argparse
from collections import Counter, defaultdict
from collections.abc import Sequence
from pathlib import Path

from viewer.analysis.observation import observe, stc_uncertainty
from viewer.analysis.sample_plan import SamplePlan, plan_sample
from viewer.analysis.sample_power import USUAL_BETWEEN, Detection, detectable
from viewer.analysis.trace_result import TraceResult
from viewer.analysis.trend import trend
from viewer.app import site_results as site
from viewer.reading.open_layout import open_layout
from viewer.reading.visit_folder import FolderError
from viewer.reports.sample_table import power_lines, sample_data, sample_lines
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.visit_grouping import VisitGroup, group_visits

SPANS = (1.0, 2.0, 5.0, 10.0)
"""Years between two tracings for which the detectable loss is stated."""

Place = tuple[str, str]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    site.add_source(parser)
    parser.add_argument(
        "--share", type=float, default=10.0, metavar="PERCENT", help="of all strings (usual: 10)"
    )
    parser.add_argument(
        "--panel",
        type=float,
        default=50.0,
        metavar="PERCENT",
        help="of the sample that stays the same every year (usual: 50)",
    )
    parser.add_argument("--seed", type=int, default=1, help="decides the choice (usual: 1)")
    parser.add_argument(
        "--suspect",
        action="append",
        default=[],
        metavar="COMBINER/STRING",
        help="trace this one, too; may be given more than once",
    )
    parser.add_argument(
        "--no-suspects",
        action="store_true",
        help="do not add strings that fell short when last traced",
    )
    parser.add_argument(
        "--between",
        type=float,
        metavar="POINTS",
        help="standard deviation of rates between strings, %%/year "
        f"(usual: from the traces, else {USUAL_BETWEEN})",
    )
    site.add_uncertainty(parser)
    site.add_output(parser)


def run(arguments: argparse.Namespace) -> int:
    try:
        found = _gather(arguments)
        visits = group_visits([one.trace for one in found.results])
        suspects = [site.place(text, found.layout) for text in arguments.suspect]
        if not arguments.no_suspects:
            suspects += fell_short(found.results, visits)
        plan = plan_sample(
            found.layout,
            share=arguments.share / 100,
            panel_share=arguments.panel / 100,
            traced=_history(found.results, visits),
            suspects=suspects,
            seed=arguments.seed,
        )
        power = _power(arguments, plan, found)
        last = _last_traced(found.results, visits)
        lines = [*sample_lines(plan, last), *power_lines(power)]
        site.output(arguments, lines, sample_data(plan, last, power))
    except ValueError as error:
        site.complain("sample", str(error))
        return 2
    return 1 if found.unreadable else 0


def _gather(arguments: argparse.Namespace) -> site.SiteResults:
    """All results, or the bare layout of a folder without traces. Raises ValueError."""
    path = Path(arguments.source)
    try:
        found = site.gather(path, "sample", quiet=arguments.quiet)
    except FolderError:
        layout, problems = open_layout(path)
        for problem in problems:
            site.complain("sample", problem)
        found = site.SiteResults(layout, (), ())
    if not any(box.strings for box in found.layout.combiners):
        raise ValueError(f"{path} lists no strings to choose from; describe them in site.toml")
    return found


def _history(
    results: Sequence[TraceResult], visits: Sequence[VisitGroup]
) -> dict[Place, tuple[int, ...]]:
    """On which visits, by their order, each string was traced."""
    seen: dict[Place, set[int]] = defaultdict(set)
    for number, visit in enumerate(visits):
        for member in visit.members:
            seen[_place(results[member])].add(number)
    return {place: tuple(sorted(numbers)) for place, numbers in seen.items()}


def _last_traced(results: Sequence[TraceResult], visits: Sequence[VisitGroup]) -> dict[Place, str]:
    return {_place(results[member]): visit.name for visit in visits for member in visit.members}


def fell_short(results: Sequence[TraceResult], visits: Sequence[VisitGroup]) -> list[Place]:
    """Strings whose power, when last traced, fell short by more than its uncertainty."""
    last = {_place(results[member]): results[member] for v in visits for member in v.members}
    return [
        place
        for place, result in last.items()
        if result.power_ratio is not None
        and result.power_ratio + (result.power_ratio_uncertainty or 0.0) < 1.0
        and result.power_ratio_uncertainty is not None
    ]


def _place(result: TraceResult) -> Place:
    return result.trace.combiner or "", result.trace.string or ""


def _power(
    arguments: argparse.Namespace, plan: SamplePlan, found: site.SiteResults
) -> list[Detection]:
    """What the sample can show over SPANS; nothing with fewer than two strings."""
    if len(plan.sampled) < 2:
        return []
    inputs = site.inputs(arguments)
    usual = _usual_module(found.layout)
    uncertainty = stc_uncertainty(found.layout.modules.get(usual), inputs)["p_mp"]
    between = arguments.between
    if between is None:
        observed = observe(found.results, found.layout, inputs)
        known = trend(observed, found.layout).usual
        between = known.between if known and known.between > 0 else USUAL_BETWEEN
    return [
        detectable(len(plan.sampled), plan.population, span, uncertainty, between=between)
        for span in SPANS
    ]


def _usual_module(layout: SiteLayout) -> str:
    """The module type of most strings."""
    kinds = Counter(one.module for box in layout.combiners for one in box.strings)
    return kinds.most_common(1)[0][0]
