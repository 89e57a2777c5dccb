"""What the commands about a site over the years share: its results, and words on the line."""

import argparse
import json
import math
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from viewer.analysis.results.trace_result import TraceResult
from viewer.app.commands.argument_types import number
from viewer.app.commands.complaints import complain
from viewer.app.commands.progress_line import ProgressLine
from viewer.physics.uncertainty.uncertainty import COVERAGE, InputUncertainties
from viewer.site_data.iv_trace import Unreadable
from viewer.site_data.site_file.annotations import Repair, read_repairs
from viewer.site_data.site_file.baseline import baseline_visit
from viewer.site_data.site_file.connection import looks_like_site_file, open_site_file
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.whole_file import UnwrittenError, write_whole
from viewer.state.keeping.settled_store import repairs_of, stored_settled
from viewer.state.program.chosen_settings import ChosenSettings, chosen_settings
from viewer.state.visit_opening import open_site


@dataclass(frozen=True, eq=False)
class SiteResults:
    """Every result at a path, with the layout and the repairs that are known."""

    layout: SiteLayout
    results: tuple[TraceResult, ...]
    unreadable: tuple[Unreadable, ...]
    repairs: tuple[Repair, ...] = ()
    baseline_start: datetime | None = None
    """When the visit began that a site file marks as the baseline."""


def gather(
    path: Path, command: str, *, quiet: bool, settings: ChosenSettings | None = None
) -> SiteResults:
    """Analyse all traces at a visit folder or site file. Raises ValueError with one sentence."""
    inputs = (settings or ChosenSettings()).inputs
    layout: SiteLayout | None = None
    results: list[TraceResult] = []
    unreadable: list[Unreadable] = []
    with ProgressLine(sys.stderr, enabled=not quiet) as line:
        for progress, arrival in open_site(path, inputs):
            layout = arrival.layout or layout
            for remark in arrival.remarks:
                complain(command, remark)
            results.extend(arrival.results)
            unreadable.extend(arrival.unreadable)
            line.show(progress.text, progress.done, progress.total or 0)
    if layout is None:
        raise ValueError(f"{path} gave no site")
    found = SiteResults(layout, tuple(results), tuple(unreadable))
    if not (path.is_file() and looks_like_site_file(path)):
        traces = {one.trace.source: one.trace for one in results}
        return replace(found, repairs=repairs_of(stored_settled(path), traces))
    with open_site_file(path) as site_file:
        baseline = baseline_visit(site_file)
        return replace(
            found,
            repairs=tuple(read_repairs(site_file)),
            baseline_start=baseline.started_at if baseline else None,
        )


def add_source(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("source", metavar="FOLDER_OR_SITE_FILE", help="visit folder or site file")


def add_settings(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--settings",
        type=Path,
        metavar="FILE",
        help="uncertainties, thresholds and procedure from settings that the window exported "
        "(TOML); without it the built-in values are used, never the window's own settings, so "
        "that the result is the same everywhere; the result says which",
    )


def add_output(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--json", metavar="FILE", help="write one JSON object to FILE (- for standard output)"
    )
    parser.add_argument("--quiet", action="store_true", help="no table and no progress")


def add_uncertainty(parser: argparse.ArgumentParser) -> None:
    usual = InputUncertainties()
    irradiance, kelvin = 100 * COVERAGE * usual.irradiance, COVERAGE * usual.temperature_cell
    parser.add_argument(
        "--irradiance-uncertainty",
        type=number(most=100),
        metavar="PERCENT",
        help="expanded (k = 2) of the irradiance readings; the same sensor on every visit shares "
        f"its calibration, so a smaller value may then be right (usual: {irradiance})",
    )
    parser.add_argument(
        "--temperature-uncertainty",
        type=number(most=50),
        metavar="KELVIN",
        help=f"expanded (k = 2) of the cell temperature (usual: {kelvin})",
    )
    parser.add_argument(
        "--all-conditions",
        action="store_true",
        help="use traces whose conditions failed their checks, too",
    )


def chosen(arguments: argparse.Namespace) -> ChosenSettings:
    """The settings asked for, by file and by options. Raises ValueError with one sentence."""
    settings = chosen_settings(arguments.settings)
    made = settings.uncertainties
    if "irradiance_uncertainty" not in arguments:
        return settings
    if arguments.irradiance_uncertainty is not None:
        made = replace(made, irradiance=arguments.irradiance_uncertainty / 100 / COVERAGE)
    if arguments.temperature_uncertainty is not None:
        made = replace(made, temperature_cell=arguments.temperature_uncertainty / COVERAGE)
    if min(float(made.irradiance), float(made.temperature_cell)) < 0:
        raise ValueError("an uncertainty is not negative")
    return settings.with_uncertainties(made)


def output(
    arguments: argparse.Namespace,
    lines: Iterable[str],
    data: dict[str, Any],
    settings: ChosenSettings,
) -> None:
    """Print the lines and write the JSON, as the options say. Raises ValueError."""
    if not arguments.quiet and arguments.json != "-":
        for line in (*lines, "", settings.in_words()):
            print(line)
    data = {**data, "settings": settings.as_data()}
    if arguments.json is None:
        return
    text = json.dumps(without_nan(data), ensure_ascii=False, indent=1)
    if arguments.json == "-":
        print(text)
        return
    try:
        write_whole(Path(arguments.json), text + "\n")
    except UnwrittenError as error:
        raise ValueError(str(error)) from None


def without_nan(data: Any) -> Any:
    """The same with None for every number that is not finite, as JSON has no word for them."""
    if isinstance(data, dict):
        return {str(key): without_nan(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [without_nan(value) for value in data]
    if isinstance(data, float):
        return float(data) if math.isfinite(data) else None
    if isinstance(data, date):
        return data.isoformat()
    return data


def place(text: str, layout: SiteLayout) -> tuple[str, str]:
    """COMBINER/STRING as a place of the layout. Raises ValueError with one sentence."""
    known = [(box.name, one.name) for box in layout.combiners for one in box.strings]
    found = [one for one in known if "/".join(one) == text]
    if not found:
        raise ValueError(f"there is no string {text}; write it as COMBINER/STRING")
    return found[0]


def exit_code(site: SiteResults, usable: Sequence[object]) -> int:
    """2 when nothing could be done, 1 when some files could not be read, else 0."""
    if not usable:
        return 2
    return 1 if site.unreadable else 0
