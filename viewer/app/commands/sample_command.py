"""`curvewright sample`: which strings to trace this year, and what that can show."""

import argparse
from pathlib import Path

from viewer.analysis.years.sample_power import USUAL_BETWEEN
from viewer.app.commands import site_results as site
from viewer.app.commands.argument_types import number, whole
from viewer.app.commands.complaints import complain
from viewer.reading.visits.open_layout import open_layout
from viewer.reading.visits.visit_folder import FolderError
from viewer.reports.sample_table import power_lines, sample_data, sample_lines
from viewer.state.program.chosen_settings import ChosenSettings
from viewer.state.years.sample_planning import SampleWish, between_from_traces, planned_sample


def add_arguments(parser: argparse.ArgumentParser) -> None:
    site.add_source(parser)
    parser.add_argument(
        "--share",
        type=number(0.0, 100.0),
        default=10.0,
        metavar="PERCENT",
        help="of all strings (usual: 10)",
    )
    parser.add_argument(
        "--panel",
        type=number(0.0, 100.0),
        default=50.0,
        metavar="PERCENT",
        help="of the sample that stays the same every year (usual: 50)",
    )
    parser.add_argument("--seed", type=whole, default=1, help="decides the choice (usual: 1)")
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
        type=number(0, 100),
        metavar="POINTS",
        help="standard deviation of rates between strings, %%/year "
        f"(usual: from the traces, else {USUAL_BETWEEN})",
    )
    site.add_uncertainty(parser)
    site.add_settings(parser)
    site.add_output(parser)


def run(arguments: argparse.Namespace) -> int:
    try:
        if arguments.share == 0.0:
            raise ValueError("--share must be above 0 %: a sample holds at least one string")
        settings = site.chosen(arguments)
        found = _gather(arguments, settings)
        wish = SampleWish(
            share=arguments.share / 100,
            panel_share=arguments.panel / 100,
            seed=arguments.seed,
            add_short=not arguments.no_suspects,
            suspects=tuple(site.place(text, found.layout) for text in arguments.suspect),
        )
        between = arguments.between
        if between is None:
            between = between_from_traces(found.results, found.layout, settings.uncertainties)
        made = planned_sample(found.layout, found.results, wish, settings.uncertainties, between)
        plan, last, power = made.plan, made.last_traced, made.power
        lines = [*sample_lines(plan, last), *power_lines(power)]
        site.output(arguments, lines, sample_data(plan, last, power), settings)
    except ValueError as error:
        complain("sample", str(error))
        return 2
    return 1 if found.unreadable else 0


def _gather(arguments: argparse.Namespace, settings: ChosenSettings) -> site.SiteResults:
    """All results, or the bare layout of a folder without traces. Raises ValueError."""
    path = Path(arguments.source)
    try:
        found = site.gather(path, "sample", quiet=arguments.quiet, settings=settings)
    except FolderError:
        layout, problems = open_layout(path)
        for problem in problems:
            complain("sample", problem)
        found = site.SiteResults(layout, (), ())
    if not any(box.strings for box in found.layout.combiners):
        raise ValueError(f"{path} lists no strings to choose from; describe them in site.toml")
    return found
