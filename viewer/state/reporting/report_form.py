"""What is entered for a report in the window, and the jobs that preview and write it."""

import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from viewer.reports.pdf_pictures import PdfPictures, pdf_pictures
from viewer.site_data.report_details_file import EnteredDetails
from viewer.state.keeping.picture_store import pictures_at
from viewer.state.keeping.report_texts import FILE_NAME, LABEL, store_details, stored_details
from viewer.state.program.chosen_settings import ChosenSettings
from viewer.state.program.jobs import Job, Outcome, Progress, Step
from viewer.state.program.notifier import Notifier, Value
from viewer.state.reporting.evidence import write_evidence
from viewer.state.reporting.report_making import KINDS, ReportOrder, write_report
from viewer.state.reporting.report_pages import ReportPages
from viewer.state.reporting.reported_visit import Baseline
from viewer.state.session import Session

SUFFIXES: tuple[str, ...] = (".pdf", ".xlsx", ".zip")


class ReportForm:
    """The entries of one site; `changed` tells that others were read."""

    def __init__(self, session: Session) -> None:
        self.changed = Notifier()
        self.kind: Value[str] = Value(next(iter(KINDS)))
        self.visit: Value[str | None] = Value(None)
        """Name of the visit that is reported; None: the newest."""
        self.pages = ReportPages(session.jobs)
        """The document as it would have been written when its preview was asked for."""
        self.outdated: Value[bool] = Value(False)
        """Whether something was entered since the preview was made."""
        self._session = session
        self._values: dict[str, Any] = {}
        self._kept = EnteredDetails({}, ())
        self._done = ""
        self._previewing: Job | None = None
        self._entered_meanwhile = False
        session.opened.connect(self.read)
        session.history.turned.connect(self._history_turned)
        session.notes.changed.connect(self._notes_changed)
        self.kind.changed.connect(self._entered)
        self.visit.changed.connect(self._entered)
        session.marks.changed.connect(self._entered)
        session.years.terms.changed.connect(self._entered)
        session.years.baseline.changed.connect(self._entered)
        self.read()

    def read(self) -> None:
        """Take the entries kept with what is open."""
        session = self._session
        self._kept = EnteredDetails({}, ())
        if session.folder is not None and session.folder.exists():
            try:
                self._kept = stored_details(session.folder)
            except (ValueError, OSError) as problem:
                session.message.value = f"The entries for reports were not read: {problem}"
        self._values = dict(self._kept.values)
        self.visit.value = None
        self._end_preview()
        self.pages.show(None)
        self.outdated.value = False
        self.changed.notify()

    def get(self, name: str, usual: Any = "") -> Any:
        return self._values.get(name, usual)

    def put(self, name: str, value: Any) -> None:
        """Enter something; an empty entry is none."""
        before = self._values.get(name)
        if value in ("", (), {}, None):
            self._values.pop(name, None)
        else:
            self._values[name] = value
        if self._values.get(name) != before:
            self._entered()

    def _entered(self, *_: object) -> None:
        self._entered_meanwhile = True
        self.outdated.value = self.pages.document.value is not None

    def words_for(self, trace_id: str | None) -> str:
        return str(self.get("texts", {}).get(trace_id, ""))

    def put_words(self, trace_id: str, words: str) -> None:
        """What is said of one string instead of the program's own words."""
        texts = {key: said for key, said in self.get("texts", {}).items() if key != trace_id}
        self.put("texts", texts | ({trace_id: words} if words.strip() else {}))

    def take_selected(self, only: bool) -> None:
        """Print in full the selected strings only, or what the document itself finds."""
        self.put("strings", self._session.selection.ids if only else ())

    def chosen_strings(self) -> str:
        """In words: which strings are printed in full."""
        ids = self.get("strings", ())
        if not ids:
            return "Strings in full: those with findings"
        results = [self._session.result(one) for one in ids]
        names = [self._session.label_of(one) for one in results if one is not None]
        more = f" and {len(ids) - 4} more" if len(ids) > 4 else ""
        return "Strings in full: " + (", ".join(names[:4]) or f"{len(ids)} of another visit") + more

    @property
    def details(self) -> EnteredDetails:
        return EnteredDetails(dict(self._values), self._kept.repairs)

    @property
    def is_kept(self) -> bool:
        return self._values == self._kept.values

    def keep(self) -> bool:
        """Store the entries with the site; what went wrong is said."""
        session = self._session
        if session.folder is None or self.is_kept:
            return True
        folder, details = session.folder, self.details
        try:
            if folder.is_dir():
                file = folder / FILE_NAME
                session.history.change_file(LABEL, file, lambda: store_details(folder, details))
            else:
                store_details(folder, details)
        except (ValueError, OSError) as problem:
            session.message.value = f"The entries were not kept: {problem}"
            return False
        self._kept = details
        session.message.value = "The entries are kept with the site."
        session.notes.renew()
        return True

    def _history_turned(self, file: Path | None) -> None:
        """A step of the folder was taken back or done again."""
        folder = self._session.folder
        if file is not None and file.name == FILE_NAME and folder is not None:
            try:
                self._take_kept(stored_details(folder))
            except (ValueError, OSError) as problem:
                self._session.message.value = f"The entries for reports were not read: {problem}"

    def _notes_changed(self) -> None:
        """A step of the site file may have been taken back or done again."""
        kept = self._session.notes.kept
        if kept is not None and kept.entries is not None:
            self._take_kept(kept.entries)

    def _take_kept(self, kept: EnteredDetails) -> None:
        """Other entries are kept now; what was typed and not kept yet stays in other fields."""
        before, self._kept = self._kept, kept
        changed = {
            key
            for key in (*before.values, *kept.values)
            if before.values.get(key) != kept.values.get(key)
        }
        if not changed and before.repairs == kept.repairs:
            return
        for key in changed:
            self._values.pop(key, None)
            if key in kept.values:
                self._values[key] = kept.values[key]
        self._entered()
        self.changed.notify()

    def order(self) -> ReportOrder | None:
        """What would be printed now; None while nothing is open."""
        session = self._session
        if session.layout is None or not session.results:
            return None
        return ReportOrder(
            self.kind.value,
            session.layout,
            session.results,
            self.details,
            date.today(),
            session.inputs.uncertainties,
            repairs=session.repairs,
            marks=session.marks.all,
            terms=session.years.terms.value,
            pictures=pictures_at(session.folder) if session.folder else None,
            visit=self.visit.value if self.visit.value in self.visits() else None,
            baseline=Baseline(session.years.baseline.value, session.years.marked_start),
            settings=ChosenSettings(session.inputs),
            settled=session.settled.every,
        )

    def visits(self) -> tuple[str, ...]:
        """Names of the visits that can be reported, the newest first."""
        return tuple(one.name for one in reversed(self._session.visits))

    def write(self, file: Path) -> None:
        """A job that writes a .pdf, .xlsx or, as evidence pack, .zip; the entries are kept."""
        order, source = self.order(), self._session.folder
        if order is None or source is None:
            self._session.message.value = "Open a site first: there is nothing to report."
            return
        self.keep()
        unreadable = self._session.unreadable

        def stopped() -> bool:
            return job.cancelled

        def steps() -> Iterator[Step]:
            if file.suffix.lower() == ".zip":
                for progress in write_evidence(order, source, unreadable, file, stopped):
                    yield Step(progress, progress)
            else:
                for progress in write_report(order, [file], stopped):
                    yield Step(progress)

        self._done = f"Saved {file}."
        job = Job(f"Writing {file.name}", steps, self._packed)
        self._start(job)

    def make_preview(self) -> None:
        """A job that makes the document and hands it to `pages`."""
        order = self.order()
        if order is None:
            self._session.message.value = "Open a site first: there is nothing to report."
            return

        def stopped() -> bool:
            return job.cancelled

        def steps() -> Iterator[Step]:
            yield Step(Progress(0, None, "page layout"))
            with tempfile.TemporaryDirectory(prefix="curvewright-") as scratch:
                file = Path(scratch) / "preview.pdf"
                for progress in write_report(order, [file], stopped):
                    yield Step(replace(progress, text="making the preview"))
                if not stopped():
                    yield Step(Progress(1, 1), pdf_pictures(file.read_bytes()))

        self._done, self._entered_meanwhile = "", False
        self._end_preview()
        job = self._previewing = Job("Preview of the report", steps, self._previewed)
        self._start(job)

    def _end_preview(self) -> None:
        if self._previewing is not None:
            self._previewing.cancel()
            self._previewing = None

    def _start(self, job: Job) -> None:
        job.outcome.changed.connect(self._ended)
        self._session.jobs.start(job)

    def _packed(self, payloads: Sequence[Progress]) -> None:
        """The last progress of a pack says what it is known by."""
        self._done = f"Saved {payloads[-1].text}."

    def _previewed(self, payloads: Sequence[PdfPictures]) -> None:
        self.pages.show(payloads[-1])
        self.outdated.value = self._entered_meanwhile

    def _ended(self, outcome: Outcome | None) -> None:
        if outcome is not None:
            said = self._done if outcome.kind == "done" else outcome.text
            self._session.message.value = said or self._session.message.value
