"""A visit folder into a site file, a piece at a time: both faces of the program use it."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from viewer import __version__
from viewer.analysis.batch import neighbour_groups
from viewer.analysis.results.trace_result import TraceResult
from viewer.reading.visits.copied_files import counted_once
from viewer.reading.visits.open_source import OpenedSource
from viewer.reading.visits.visit_folder import (
    FolderError,
    VisitFolder,
    failures,
    left_out,
    nothing_but,
    open_visit_folder,
    read_source,
)
from viewer.site_data.iv_trace import NotATrace, Trace
from viewer.site_data.site_file.connection import SiteFile, open_or_create, open_site_file
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.importing import (
    ImportedFile,
    ImportOutcome,
    import_files,
    import_label,
)
from viewer.site_data.site_file.journal import one_step
from viewer.site_data.site_file.layout_rows import read_layout, site_name
from viewer.site_data.site_file.stored_results import (
    KeyNumbers,
    store_results,
    traces_without_results,
)
from viewer.site_data.site_file.trace_rows import read_traces
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.site_toml import FILE_NAME
from viewer.state.keeping.carrying_over import Carried, carry_over_steps
from viewer.state.opening.worker_processes import Workers
from viewer.state.program.jobs import Progress

FILES_AT_ONCE = 50
"""Files between two reports of progress."""


@dataclass(frozen=True)
class ImportStep:
    """How far the import is; `outcome` comes once, as soon as everything is stored."""

    progress: Progress
    remarks: tuple[str, ...] = ()
    outcome: ImportOutcome | None = None
    carried: Carried | None = None
    """What the folder kept beside its traces; comes with the outcome."""


def import_steps(folder_path: Path, site_path: Path) -> Iterator[ImportStep]:
    """Read the folder, store it as one transaction, then analyse the visits it concerns: all
    where the site's layout has changed.

    Dropping the generator before `outcome` has come leaves the site file as it was.
    Raises ValueError with one sentence.
    """
    stored: tuple[int, ...] = ()
    for step in storing_steps(folder_path, site_path):
        yield step
        if step.outcome is not None:
            stored = step.outcome.to_analyse
    yield from analysis_steps(site_path, stored)


def storing_steps(folder_path: Path, site_path: Path) -> Iterator[ImportStep]:
    """Read the folder and store it, with what it keeps beside its traces
    (viewer.state.keeping.carrying_over); the last step has the outcome. Raises ValueError."""
    folder = open_visit_folder(folder_path)
    total = len(folder.sources)
    yield ImportStep(Progress(0, total, "reading"), folder.problems + folder.remarks)
    imported: list[ImportedFile] = []
    others: list[NotATrace] = []
    for done, source in enumerate(folder.sources, start=1):
        one = _imported(folder, source)
        if isinstance(one, NotATrace):
            others.append(one)
        else:
            imported.append(one)
        if done % FILES_AT_ONCE == 0:
            yield ImportStep(Progress(done, total, "reading"))
    if len(others) == total:
        raise FolderError(nothing_but(folder_path, others))
    yield ImportStep(Progress(total, total, "reading"), left_out(others))
    traces = [trace for one in imported for trace in one.traces]
    counted, copies = counted_once(traces, folder.layout)
    if copies:
        yield ImportStep(Progress(total, total, "reading"), copies)
        imported = _without_copies(imported, counted)
    yield ImportStep(Progress(total, total, "storing"))
    home = str(folder.path.resolve())
    carried = Carried()
    with open_or_create(site_path) as site_file, one_step(site_file, import_label(home)):
        outcome = import_files(
            site_file,
            _layout(site_file, folder),
            imported,
            folder=home,
            program_version=__version__,
        )
        for progress in carry_over_steps(site_file, folder.path, traces, carried):
            yield ImportStep(progress)
    yield ImportStep(Progress(total, total, "stored"), outcome=outcome, carried=carried)


def analysis_steps(
    site_path: Path, trace_ids: tuple[int, ...], behind_window: bool = False
) -> Iterator[ImportStep]:
    """Analyse the whole visits of these traces anew, on all cores where that is worth it, and
    store their key numbers beside the traces. Raises ValueError with one sentence.

    behind_window: the processes give way to it.
    """
    with open_site_file(site_path) as site_file:
        yield from _analysis_steps(site_file, visits_of(site_file, trace_ids), behind_window)


def making_up_steps(site_path: Path, behind_window: bool = False) -> Iterator[ImportStep]:
    """The same for the shown traces that have no key numbers: of another layout they are none.

    Nothing to yield where all have. Raises ValueError with one sentence.
    """
    with open_site_file(site_path) as site_file, site_file.reading() as connection:
        missing = traces_without_results(connection)
    if missing:
        yield from analysis_steps(site_path, missing, behind_window)


def _analysis_steps(
    site_file: SiteFile, visit_ids: list[int], behind_window: bool
) -> Iterator[ImportStep]:
    layout = read_layout(site_file)
    traces: list[Trace] = []
    for visit_id in visit_ids:
        # The number of the trace stands in for its source, so that a result finds its row.
        traces += [replace(t, source=str(n)) for n, t in read_traces(site_file, visit_id=visit_id)]
    numbers: list[KeyNumbers] = []
    done = 0
    by_number = {one.source: (one,) for one in traces}
    with Workers(behind_window) as workers:
        analysis = workers.analysis(OpenedSource(layout, tuple(by_number), by_number.__getitem__))
        for outcomes in analysis.compare(neighbour_groups(traces)):
            done += len(outcomes)
            numbers += [key_numbers(one) for one in outcomes if isinstance(one, TraceResult)]
            yield ImportStep(Progress(done, len(traces), "comparing"))
    with site_file.writing():
        if read_layout(site_file) == layout:  # else what changed it has numbers of its own made
            store_results(site_file, numbers, program_version=__version__)


def key_numbers(result: TraceResult) -> KeyNumbers:
    """What is kept of a result whose trace carries its number in the site file as source."""
    first = result.candidate_causes[0] if result.candidate_causes else None
    return KeyNumbers(
        trace_id=int(result.trace.source),
        measured=result.measured,
        translated=result.translated,
        poa_global=result.conditions.poa_global,
        temperature_cell=result.conditions.temperature_cell,
        power_ratio=result.power_ratio,
        power_ratio_uncertainty=result.power_ratio_uncertainty,
        first_cause=first.cause if first else None,
        first_cause_likelihood=first.likelihood if first else None,
    )


def visits_of(site_file: SiteFile, trace_ids: tuple[int, ...]) -> list[int]:
    """The visits these traces belong to."""
    wanted = set(trace_ids)
    with site_file.reading() as connection:
        rows = connection.execute("SELECT id, visit_id FROM traces")
        return sorted({visit for number, visit in rows if number in wanted})


def _layout(site_file: SiteFile, folder: VisitFolder) -> SiteLayout:
    """The folder's layout, or the site file's own when the folder describes none."""
    if (folder.path / FILE_NAME).is_file():
        return folder.layout
    with site_file.reading() as connection:
        known = site_name(connection)
    return folder.layout if known is None else read_layout(site_file)


def _without_copies(files: list[ImportedFile], counted: list[Trace]) -> list[ImportedFile]:
    """The files but for those all of whose traces another file gives, too."""
    kept = {one.source for one in counted}
    return [one for one in files if not one.traces or any(t.source in kept for t in one.traces)]


def _imported(folder: VisitFolder, source: str) -> ImportedFile | NotATrace:
    """The file's bytes and what they were read as: read again once if it changed in between."""
    for _ in range(2):
        content = _bytes(folder.path / source)
        read = read_source(folder, source)
        traces = tuple(one for one in read if isinstance(one, Trace))
        if read and isinstance(read[0], NotATrace):
            return read[0]
        digest = None if content is None else hashlib.sha256(content).hexdigest()
        if all(one.sha256 == digest for one in traces):
            return ImportedFile(source, content, traces, failures(read))
    raise SiteFileError(
        f"{source} changes while it is imported; wait until it is written and import again."
    )


def _bytes(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except OSError:
        return None
