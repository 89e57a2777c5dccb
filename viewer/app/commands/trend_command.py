"""`curvewright trend`: degradation over the visits, or one visit against another."""

import argparse
from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from viewer.analysis.years.baseline_change import visit_changes
from viewer.analysis.years.observation import Observed, observe
from viewer.analysis.years.trend import trend
from viewer.app.commands import site_results as site
from viewer.app.commands.argument_types import read_day
from viewer.app.commands.complaints import complain
from viewer.reports.trend_table import change_data, change_lines, trend_data, trend_lines
from viewer.site_data.visit_grouping import baseline_place, visit_place
from viewer.state.program.chosen_settings import ChosenSettings
from viewer.state.years.kept_choices import stored_choices


def add_arguments(parser: argparse.ArgumentParser) -> None:
    site.add_source(parser)
    parser.add_argument(
        "--groups-only", action="store_true", help="do not list every string in the table"
    )
    parser.add_argument(
        "--repaired",
        action="append",
        default=[],
        metavar="COMBINER/STRING=DATE",
        help="a repair that the site file does not know; may be given more than once",
    )
    parser.add_argument(
        "--changes", action="store_true", help="one visit against another instead of rates"
    )
    parser.add_argument(
        "--from",
        dest="then",
        metavar="VISIT",
        help="with --changes: the earlier; usual: the baseline kept with the site, else the first",
    )
    parser.add_argument("--to", dest="now", metavar="VISIT", help="with --changes: the later")
    parser.add_argument(
        "--same-instruments",
        action="store_true",
        help="with --changes: both visits used the same sensor and tracer, not adjusted between",
    )
    site.add_uncertainty(parser)
    site.add_settings(parser)
    site.add_output(parser)


def run(arguments: argparse.Namespace) -> int:
    try:
        _check(arguments)
        settings = site.chosen(arguments)
        found = site.gather(
            Path(arguments.source), "trend", quiet=arguments.quiet, settings=settings
        )
        observed = observe(
            found.results,
            found.layout,
            settings.uncertainties,
            all_conditions=arguments.all_conditions,
        )
        if arguments.changes:
            return _changes(arguments, found, observed, settings)
        made = trend(observed, found.layout, _repairs(arguments.repaired, found))
        lines = trend_lines(made, strings=not arguments.groups_only)
        site.output(arguments, lines, trend_data(made), settings)
    except ValueError as error:
        complain("trend", str(error))
        return 2
    if not made.strings and not made.repaired:
        complain("trend", _why_no_rate(observed))
    return site.exit_code(found, (*made.strings, *made.repaired))


def _check(arguments: argparse.Namespace) -> None:
    """Raises ValueError for options that would be passed over."""
    options = {"--from": arguments.then, "--to": arguments.now}
    given = [name for name, value in options.items() if value is not None]
    given += ["--same-instruments"] if arguments.same_instruments else []
    if given and not arguments.changes:
        raise ValueError(f"{', '.join(given)}: only with --changes; rates are of all visits")
    wrong = next((one for one in arguments.repaired if "=" not in one), None)
    if wrong is not None:
        raise ValueError(f"--repaired is {wrong}; write COMBINER/STRING=YYYY-MM-DD")


def _why_no_rate(observed: Observed) -> str:
    visits = len({one.visit for one in observed.observations})
    reasons = "; ".join(f"{count}: {reason}" for reason, count in observed.left_out.items())
    tail = f" (traces left out: {reasons})" if reasons else ""
    if visits < 2:
        return f"a rate needs two visits with usable traces, not {visits}{tail}"
    return f"no string was traced on two visits{tail}"


def _repairs(given: Sequence[str], found: site.SiteResults) -> dict[tuple[str, str], list[date]]:
    repairs: dict[tuple[str, str], list[date]] = defaultdict(list)
    for one in found.repairs:
        repairs[one.combiner, one.string].append(one.repaired_on)
    for text in given:
        name, _, when = text.rpartition("=")
        repairs[site.place(name, found.layout)].append(read_day(when))
    return dict(repairs)


def _changes(
    arguments: argparse.Namespace,
    found: site.SiteResults,
    observed: Observed,
    settings: ChosenSettings,
) -> int:
    seen = sorted({one.visit for one in observed.observations})
    if len(seen) < 2:
        raise ValueError(_why_no_rate(observed))
    names = [visit.name for visit in observed.visits]
    kept = stored_choices(Path(arguments.source)).baseline
    usable = [observed.visits[place] for place in seen]
    marked = baseline_place(usable, kept, found.baseline_start)
    then = _visit(arguments.then, names, seen[marked or 0])
    now = _visit(arguments.now, names, seen[-1])
    if then == now:
        raise ValueError(f"{names[now]} is compared with itself; name two visits")
    made = visit_changes(observed, then, now, same_instruments=arguments.same_instruments)
    lines = change_lines(made, names[then], names[now])
    site.output(arguments, lines, change_data(made, names[then], names[now]), settings)
    if not made:
        complain("trend", f"no string was traced on {names[then]} and {names[now]}")
    return site.exit_code(found, made)


def _visit(name: str | None, names: Sequence[str], usual: int) -> int:
    return usual if name is None else visit_place(names, name)
