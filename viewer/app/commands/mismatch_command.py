"""`curvewright mismatch`: what combiners lose because their strings are unequal."""

import argparse
from collections import defaultdict
from pathlib import Path
from typing import Any

from viewer.analysis.losses.mismatch import combiner_mismatch, curves_of
from viewer.analysis.results.counting_trace import counting_traces
from viewer.analysis.results.trace_result import TraceResult
from viewer.app.commands import site_results as site
from viewer.app.commands.complaints import complain
from viewer.reports.loss_tables import mismatch_data, mismatch_lines
from viewer.site_data.visit_grouping import visit_place
from viewer.state.visits import visits_of


def add_arguments(parser: argparse.ArgumentParser) -> None:
    site.add_source(parser)
    parser.add_argument("--combiner", help="only this one")
    parser.add_argument("--visit", help="only this one (usual: the newest)")
    site.add_settings(parser)
    site.add_output(parser)


def run(arguments: argparse.Namespace) -> int:
    try:
        settings = site.chosen(arguments)
        found = site.gather(
            Path(arguments.source), "mismatch", quiet=arguments.quiet, settings=settings
        )
        visit, boxes = _of_visit(arguments, found)
        lines: list[str] = []
        data: list[dict[str, Any]] = []
        for combiner, results in boxes.items():
            curves, basis = curves_of(results)
            if not curves:
                complain("mismatch", f"{combiner}: no sweep reaches the open-circuit voltage")
                continue
            made = combiner_mismatch(curves)
            lines += mismatch_lines(combiner, made, basis, visit)
            data.append(mismatch_data(combiner, made, basis, visit))
        site.output(arguments, lines, {"combiners": data}, settings)
    except ValueError as error:
        complain("mismatch", str(error))
        return 2
    return site.exit_code(found, data)


def _of_visit(
    arguments: argparse.Namespace, found: site.SiteResults
) -> tuple[str, dict[str, list[TraceResult]]]:
    """The visit's name and its results by combiner, one trace a string."""
    visits = visits_of([one.trace for one in found.results])
    if not visits:
        raise ValueError("no trace could be read, so there is no combiner curve")
    dated = [one for one in visits if one.started_at is not None] or list(visits)
    chosen = dated[-1]
    if arguments.visit is not None:
        chosen = visits[visit_place([one.name for one in visits], arguments.visit)]
    boxes: dict[str, list[TraceResult]] = defaultdict(list)
    members = (one for one in found.results if one.trace.source in chosen.trace_ids)
    for (combiner, _), one in counting_traces(members).items():
        boxes[combiner].append(one)
    if arguments.combiner is not None:
        if arguments.combiner not in boxes:
            raise ValueError(
                f"{chosen.name} has no traces of combiner {arguments.combiner}; "
                f"known: {', '.join(boxes)}"
            )
        return chosen.name, {arguments.combiner: boxes[arguments.combiner]}
    return chosen.name, boxes
