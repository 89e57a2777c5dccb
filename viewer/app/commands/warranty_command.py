"""`curvewright warranty`: measured power against what the maker warrants at that age."""

import argparse
from pathlib import Path

from viewer.analysis.years.observation import observe
from viewer.analysis.years.warranty import check_warranty
from viewer.app.commands import site_results as site
from viewer.app.commands.argument_types import read_day
from viewer.app.commands.complaints import complain
from viewer.reports.warranty_table import warranty_data, warranty_lines
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.warranty_terms import WarrantyTerms
from viewer.state.years.kept_choices import stored_choices
from viewer.state.years.warranty_entry import read_step, terms_from


def add_arguments(parser: argparse.ArgumentParser) -> None:
    site.add_source(parser)
    parser.add_argument(
        "--start", metavar="DATE", help="start of the warranty where site.toml gives none"
    )
    parser.add_argument(
        "--module", metavar="KEY", help="module the terms below are for (all when not given)"
    )
    parser.add_argument(
        "--first-year", type=float, metavar="PERCENT", help="lost at most in the first year"
    )
    parser.add_argument(
        "--annual", type=float, metavar="POINTS", help="percentage points lost a year thereafter"
    )
    parser.add_argument("--years", type=float, metavar="YEARS", help="length of the warranty")
    parser.add_argument(
        "--steps", metavar="AGE:PERCENT,...", help="instead: warranted until each age, 10:90,25:80"
    )
    parser.add_argument(
        "--rated-power", type=float, metavar="WATTS", help="what the percentages refer to"
    )
    site.add_uncertainty(parser)
    site.add_settings(parser)
    site.add_output(parser)


def run(arguments: argparse.Namespace) -> int:
    try:
        given = _terms(arguments)
        start = read_day(arguments.start) if arguments.start else None
        settings = site.chosen(arguments)
        found = site.gather(
            Path(arguments.source), "warranty", quiet=arguments.quiet, settings=settings
        )
        observed = observe(
            found.results,
            found.layout,
            settings.uncertainties,
            all_conditions=arguments.all_conditions,
        )
        kept = stored_choices(Path(arguments.source)).terms
        terms = {**kept, **_for_modules(given, arguments.module, found.layout)}
        made = check_warranty(observed.observations, found.layout, terms, start)
        site.output(arguments, warranty_lines(made), warranty_data(made), settings)
    except ValueError as error:
        complain("warranty", str(error))
        return 2
    for note in observed.notes:
        complain("warranty", note)
    if not made.checks:
        how = (
            "; enter the terms as [module.KEY.warranty] in site.toml or with --first-year, "
            "--annual and --start"
        )
        why = f": {' '.join(made.unchecked)}".rstrip(".") if made.unchecked else ""
        complain("warranty", f"nothing could be checked{how if made.lacks_terms else why}")
    return site.exit_code(found, made.checks)


def _terms(arguments: argparse.Namespace) -> WarrantyTerms | None:
    """Terms from the options, read and checked as those of a site.toml. Raises ValueError."""
    options = ("first_year", "annual", "years", "rated_power")
    data: dict[str, object] = {
        name: getattr(arguments, name) for name in options if getattr(arguments, name) is not None
    }
    if arguments.steps:
        data["steps"] = [read_step(pair) for pair in arguments.steps.split(",")]
    return terms_from(data) if data else None


def _for_modules(
    terms: WarrantyTerms | None, key: str | None, layout: SiteLayout
) -> dict[str, WarrantyTerms]:
    if key is not None and key not in layout.modules:
        raise ValueError(f"there is no module {key}; known: {', '.join(layout.modules)}")
    if terms is None:
        return {}
    return {name: terms for name in layout.modules if key is None or name == key}
