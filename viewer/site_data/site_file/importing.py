"""Bringing a visit folder's content into the site file, as one transaction."""

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass

from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.journal import RowChange, record
from viewer.site_data.site_file.layout_rows import merge_layout, site_name
from viewer.site_data.site_file.record_columns import insert, time_text, utc_now
from viewer.site_data.site_file.stored_bytes import keep_bytes
from viewer.site_data.site_file.stored_results import forget_results, traces_without_results
from viewer.site_data.site_file.trace_rows import write_trace
from viewer.site_data.site_file.visit_rows import visit_of
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.visit_grouping import group_visits


@dataclass(frozen=True)
class ImportedFile:
    """One file of a visit folder: its path there, its bytes, and what reading them gave.

    A file may hold several traces, each with a source of its own, and parts that could not be
    read. `content` is None for a file whose bytes could not be had.
    """

    source: str
    content: bytes | None
    traces: tuple[Trace, ...] = ()
    failures: tuple[Unreadable, ...] = ()


@dataclass(frozen=True)
class ImportOutcome:
    """What an import stored; the ids are those of the new traces.

    import_id: None where nothing was new, so that the import left no step.
    """

    import_id: int | None
    trace_ids: tuple[int, ...]
    unread: int
    known_before: int
    """Files that were in the site file already, unchanged, and were left as they are."""
    replaced: int
    """Earlier traces of files that have changed since; kept, but no longer shown."""
    layout_changes: tuple[str, ...]
    to_analyse: tuple[int, ...]
    """Shown traces whose key numbers are not there (any more): the new ones, all where the layout
    has changed, those of an import that was stopped before they were compared."""


def import_files(
    site_file: SiteFile,
    layout: SiteLayout,
    imported: Iterable[ImportedFile],
    *,
    folder: str,
    program_version: str,
) -> ImportOutcome:
    """Store the layout and all files, or nothing. Raises SiteFileError.

    `folder` is its absolute path, by which a changed file is known again.
    `imported` is consumed inside the transaction; an exception it raises (a cancel) undoes all.
    The import is one entry of the journal: undoing it hides its traces and keeps their bytes, and
    the layout is what it was before. Where nothing was new there is none, for there is nothing to
    take back.
    """
    with site_file.writing() as connection:
        _check_same_site(site_file, connection, layout)
        import_id = insert(
            connection,
            "imports",
            {"folder": folder, "imported_at": utc_now(), "program_version": program_version},
        )
        merge = merge_layout(connection, layout, import_id)
        found = _find_strings(connection)
        run = _Run(connection, import_id, folder)
        for one in imported:
            run.take(one)
        trace_ids = run.write_all()
        if merge.is_new or found:
            forget_results(connection)
        to_analyse = traces_without_results(connection)
        is_new = bool(trace_ids or run.new_failures or found) or merge.is_new
        if is_new:
            shown = RowChange("imports", import_id, before={"hidden": 1}, after={"hidden": 0})
            changes = [shown, *merge.changes, *found, *run.replacements, *run.widened]
            record(connection, import_label(folder), changes)
        else:
            connection.execute("DELETE FROM imports WHERE id = ?", (import_id,))
    return ImportOutcome(
        import_id if is_new else None,
        trace_ids,
        run.unread,
        run.known,
        len(run.replacements),
        tuple(merge.said),
        to_analyse,
    )


def import_label(folder: str) -> str:
    """How the journal calls the import of a folder."""
    return f"Import of {folder}"


def _check_same_site(
    site_file: SiteFile, connection: sqlite3.Connection, layout: SiteLayout
) -> None:
    name = site_name(connection)
    if name is not None and name != layout.name:
        raise SiteFileError(
            f"{site_file.path.name}: it holds the site “{name}”, the folder is of "
            f"“{layout.name}”; import it into another site file, or give both the same name."
        )


def _find_strings(connection: sqlite3.Connection) -> list[RowChange]:
    """Give shown traces the string that the layout has only now come to know."""
    rows = connection.execute(
        "SELECT traces.id, strings.id FROM current_traces AS traces "
        "JOIN current_combiners AS combiners ON combiners.name = traces.combiner "
        "JOIN current_strings AS strings ON combiners.id = combiner_id "
        "AND strings.name = traces.string WHERE string_id IS NULL"
    ).fetchall()
    connection.executemany(
        "UPDATE traces SET string_id = ? WHERE id = ?", [(string, trace) for trace, string in rows]
    )
    return [
        RowChange("traces", trace, before={"string_id": None}, after={"string_id": string})
        for trace, string in rows
    ]


class _Run:
    """The files of one import on their way into the tables."""

    def __init__(self, connection: sqlite3.Connection, import_id: int, folder: str) -> None:
        self.connection = connection
        self.import_id = import_id
        self.folder = folder
        self.traces: list[Trace] = []
        self.digests: list[str | None] = []
        self.unread = 0
        self.new_failures = 0
        self.known = 0
        self.replacements: list[RowChange] = []
        self.widened: list[RowChange] = []
        """Visits that last longer with the traces of this import."""
        self._strings: dict[tuple[str, str], int] = {
            (box, name): number
            for number, box, name in connection.execute(
                "SELECT strings.id, combiners.name, strings.name "
                "FROM current_strings AS strings JOIN combiners ON combiners.id = combiner_id"
            )
        }

    def take(self, one: ImportedFile) -> None:
        """Keep the bytes of one file and its traces for writing."""
        digest = None if one.content is None else keep_bytes(self.connection, one.content)
        for failure in one.failures:
            self._keep_failure(failure, digest)
        if not one.traces:
            return
        if self._is_known(digest):
            self.known += 1
            return
        for trace in one.traces:
            self.traces.append(trace)
            self.digests.append(digest)

    def _keep_failure(self, failure: Unreadable, digest: str | None) -> None:
        self.unread += 1
        known = self.connection.execute(
            "SELECT 1 FROM unread_files JOIN imports ON imports.id = import_id "
            "WHERE hidden = 0 AND source = ? AND file_sha256 IS ? AND problem = ?",
            (failure.source, digest, failure.problem),
        )
        if known.fetchone() is None:
            self.new_failures += 1
            values = {"source": failure.source, "problem": failure.problem}
            more = {"import_id": self.import_id, "file_sha256": digest}
            insert(self.connection, "unread_files", values | more)

    def _is_known(self, digest: str | None) -> bool:
        """Whether an earlier import brought the same bytes, under whatever name."""
        known = self.connection.execute(
            "SELECT 1 FROM current_traces WHERE file_sha256 = ? AND import_id != ? LIMIT 1",
            (digest, self.import_id),
        )
        return known.fetchone() is not None

    def _older(self, trace: Trace) -> list[int]:
        """Shown traces of earlier imports that this one replaces: the same file, since changed.

        A file of the same name from another folder is the same only when its time is, too.
        """
        rows = self.connection.execute(
            "SELECT traces.id FROM current_traces AS traces "
            "JOIN imports ON imports.id = import_id "
            "WHERE source = ? AND import_id != ? AND (folder = ? OR measured_at = ?)",
            (trace.source, self.import_id, self.folder, time_text(trace.measured_at)),
        )
        return [number for (number,) in rows]

    def write_all(self) -> tuple[int, ...]:
        """Write the kept traces, visit by visit; their ids in the order they were taken."""
        visits: dict[int, int] = {}
        for group in group_visits(self.traces):
            number, widened = visit_of(self.connection, group)
            self.widened += widened
            visits.update(dict.fromkeys(group.members, number))
        ids = [
            write_trace(
                self.connection,
                trace,
                import_id=self.import_id,
                visit_id=visits[place],
                string_id=self._strings.get(trace.place),
                file_sha256=self.digests[place],
            )
            for place, trace in enumerate(self.traces)
        ]
        for trace, number in zip(self.traces, ids, strict=True):
            for older in self._older(trace):
                self._replace(older, number)
        return tuple(ids)

    def _replace(self, older: int, newer: int) -> None:
        self.connection.execute("UPDATE traces SET replaced_by = ? WHERE id = ?", (newer, older))
        self.replacements.append(
            RowChange("traces", older, before={"replaced_by": None}, after={"replaced_by": newer})
        )
