"""`curvewright worst`: the strings that cost most, in watts, kilowatt-hours and money."""

import argparse
from pathlib import Path

from viewer.analysis.losses.site_overview import worst_strings
from viewer.app.commands import site_results as site
from viewer.app.commands.argument_types import count, number
from viewer.app.commands.complaints import complain
from viewer.reports.loss_tables import worst_data, worst_lines
from viewer.site_data.visit_grouping import visit_place
from viewer.state.losses.cost_terms import CostTerms, year_for
from viewer.state.visits import visits_of

MOST_LISTED = 100_000
MOST_PRICE, MOST_YIELD = 100_000.0, 4_000.0
"""As in the window; nowhere on Earth a kW yields more than some 2,500 kWh a year."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    site.add_source(parser)
    parser.add_argument("--visit", help="the visit to judge (usual: each string's newest trace)")
    parser.add_argument(
        "--count", type=count(1, MOST_LISTED), default=20, help="how many to list (usual: 20)"
    )
    parser.add_argument("--price", type=number(0.0, MOST_PRICE), help="price of one kWh")
    parser.add_argument("--currency", default="", help="what the price is in")
    parser.add_argument(
        "--yield",
        dest="stated_yield",
        type=number(0.0, MOST_YIELD),
        metavar="KWH",
        help="yield of a sound plant, kWh a year per kW at STC",
    )
    parser.add_argument(
        "--year",
        type=Path,
        metavar="FILE",
        help="typical year: a table with hourly poa_global, or an EPW or TMY3 weather file",
    )
    site.add_settings(parser)
    site.add_output(parser)


def run(arguments: argparse.Namespace) -> int:
    try:
        settings = site.chosen(arguments)
        found = site.gather(
            Path(arguments.source), "worst", quiet=arguments.quiet, settings=settings
        )
        results = found.results
        if arguments.visit is not None:
            ids = site_visit(arguments.visit, found)
            results = tuple(one for one in results if one.trace.source in ids)
        terms = CostTerms(
            arguments.price, arguments.currency, arguments.stated_yield, arguments.year
        )
        year = year_for(found.layout, terms)
        worst = worst_strings(
            results, found.layout, year, arguments.count, terms.price, terms.currency
        )
        known = year is not None
        judged = any(one.power_ratio is not None for one in results)
        site.output(
            arguments, worst_lines(worst, known, judged), worst_data(worst, known), settings
        )
    except ValueError as error:
        complain("worst", str(error))
        return 2
    return site.exit_code(found, results)


def site_visit(name: str, found: site.SiteResults) -> frozenset[str]:
    """Ids of a visit's traces. Raises ValueError for a name that is none."""
    visits = visits_of([one.trace for one in found.results])
    return visits[visit_place([one.name for one in visits], name)].trace_ids
