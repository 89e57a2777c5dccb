"""What the open program knows: one object, handed to every pane, owned by none.

Over 500 lines, for each thing that can be known or changed has its short method in this one place.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from viewer.analysis.comparison import AnalysisInputs
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.nomenclature import counted
from viewer.site_data.iv_trace import Unreadable
from viewer.site_data.site_file.annotations import Repair
from viewer.site_data.site_file.connection import looks_like_site_file
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.site_toml import FILE_NAME as SITE_TOML
from viewer.state.keeping.folder_history import FolderHistory
from viewer.state.keeping.settled_findings import SettledFindings
from viewer.state.keeping.settled_store import repairs_of
from viewer.state.keeping.site_notes import SiteNotes
from viewer.state.keeping.what_was_open import WhatWasOpen
from viewer.state.plot.highlight import Highlight
from viewer.state.plot.plot_marks import PlotMarks
from viewer.state.program.jobs import Job, Jobs, Outcome, Progress, Step
from viewer.state.program.notifier import Notifier, Value
from viewer.state.program.settings import Settings
from viewer.state.selection import Selection
from viewer.state.strings.listed_traces import Listing
from viewer.state.strings.same_strings import same_strings
from viewer.state.strings.string_rows import StringRow, is_suspect, natural, string_row, suspects
from viewer.state.strings.times_of_day import label_among
from viewer.state.visits import Visit, visits_of
from viewer.state.years.kept_choices import FolderChoices, KeptChoices
from viewer.state.years.over_years import OverYears, YearsSource


@dataclass(frozen=True, eq=False)
class Arrival:
    """What one step of opening a folder brings."""

    layout: SiteLayout | None = None
    results: tuple[TraceResult, ...] = ()
    unreadable: tuple[Unreadable, ...] = ()
    remarks: tuple[str, ...] = ()
    repairs: tuple[Repair, ...] = ()
    """What a site file says was mended."""
    baseline_start: datetime | None = None
    """When the visit began that a site file marks as the baseline."""
    listing: Listing | None = None
    """Traces by name with stored key numbers, shown until their results arrive."""


Opener = Callable[[Path, AnalysisInputs], Iterator[tuple[Progress, Arrival]]]
"""Reads and analyses what lies at a path, a piece at a time, with what people may edit."""


class Choices:
    """What the panes are asked to show; shared, so that all of them agree."""

    def __init__(self) -> None:
        self.visit: Value[str | None] = Value(None)
        """Name of the one visit shown, or None for all."""
        self.combiner: Value[str | None] = Value(None)
        """The combiner in the heat-grid."""
        self.form: Value[str] = Value("measured")
        """How curves are drawn: a key of viewer.reports.curve_figure.FORMS."""
        self.panels: Value[tuple[str, ...]] = Value(("iv", "pv"))
        """Which panels the plot stacks: keys of viewer.reports.curve_figure.PANELS."""
        self.grid_reference: Value[str] = Value("prediction")
        """What the heat-grid compares with: a key of REFERENCES in `deviation_grid`."""
        self.grid_printed: Value[str] = Value("deviation")
        """What its cells print: "both", "value" or "deviation"."""
        self.highlights: Value[tuple[str | None, tuple[Highlight, ...]]] = Value((None, ()))
        """What the chosen finding is about: the trace's id and stretches of its curve."""


class Session:
    """The open site, its results and everything the panes share."""

    def __init__(self, opener: Opener, settings: Settings | None = None) -> None:
        self.opener = opener
        self.settings: Value[Settings] = Value(settings or Settings())
        self.selection = Selection()
        self.choices = Choices()
        self.choices.visit.changed.connect(self._turn_to_visit)
        self.jobs = Jobs()
        self.opened = Notifier()
        """Another site: everything known before is gone."""
        self.site_changed = Notifier()
        """The site's layout became known, or another site's was: passes nothing."""
        self.arrived = Notifier()
        """More results or unreadable files of the same site; passes the Arrival."""
        self.message: Value[str] = Value("")
        """The newest sentence for the status line."""
        self.history = FolderHistory(self.message)
        """What can be undone of an open folder; a site file keeps its own journal."""
        self.marks = PlotMarks(self.message, self.history)
        self.folder: Path | None = None
        self.loaded = Notifier()
        """Opening has ended, however it ended."""
        self.years = OverYears(self.jobs, self.years_source)
        self.notes = SiteNotes(self.jobs, self.message)
        self.notes.changed.connect(self._notes_changed)
        self.notes.changed.connect(self.marks.refresh)
        self.marks.kept.connect(self.notes.renew)
        self.history.turned.connect(self._turned)
        self.kept_may_differ = Notifier()
        """Something else is open, or a step of the site may have been taken back or done again."""
        self.opened.connect(self.kept_may_differ.notify)
        self.history.turned.connect(self.kept_may_differ.notify)
        self.notes.changed.connect(self._notes_may_differ)
        self.settled = SettledFindings(self)
        self.settled.changed.connect(self._settled_changed)
        self.history.watch(self.years.baseline, "Baseline visit", self._is_folder_open)
        self.history.watch(self.years.terms, "Warranty terms", self._is_folder_open)
        self._folder_choices = FolderChoices(self._say)
        self._taking_choices = False
        self.years.baseline.changed.connect(self._baseline_chosen)
        self.years.terms.changed.connect(self._terms_chosen)
        self.notes.imported.connect(self._open_imported)
        self.notes.traces_changed.connect(self._open_turned)
        self._loading: Job | None = None
        self.left_open: Value[WhatWasOpen | None] = Value(None)
        """What was open when the program stopped without ending; None when it ended well."""
        self._again: WhatWasOpen | None = None
        self._said_before_opening = ""
        self.inputs = self.settings.value.analysis_inputs
        """What the results shown were computed with."""
        self._judged_by = self.settings.value.verdict_limits
        self.settings.changed.connect(self._judge_again)
        self._empty()

    def _empty(self) -> None:
        self.layout: SiteLayout | None = None
        self._complete = False
        self.remarks: tuple[str, ...] = ()
        self.repairs: tuple[Repair, ...] = ()
        self._repairs_of_folder: tuple[Repair, ...] = ()
        self._results: dict[str, TraceResult] = {}
        self._listing: Listing | None = None
        self._unreadable: list[Unreadable] = []
        self._rows: dict[str, StringRow] = {}
        self._by_combiner: dict[str, dict[str, TraceResult]] = {}
        self._visits: tuple[Visit, ...] | None = None
        self._worth_a_look: set[str] = set()
        """Ids of all suspects, kept up as rows come: asked for at every turn."""
        self._suspects: tuple[str | None, tuple[str, ...]] | None = None

    @property
    def results(self) -> tuple[TraceResult, ...]:
        return tuple(self._results.values())

    @property
    def has_results(self) -> bool:
        return bool(self._results)

    @property
    def unreadable(self) -> tuple[Unreadable, ...]:
        return tuple(self._unreadable)

    @property
    def rows(self) -> Iterable[StringRow]:
        """One row a trace for lists, in order of arrival."""
        return self._rows.values()

    @property
    def visits(self) -> tuple[Visit, ...]:
        if self._visits is None:
            self._visits = visits_of([one.trace for one in self._results.values()])
        return self._visits

    @property
    def current(self) -> TraceResult | None:
        """The result that the detail panes describe."""
        return self.result(self.selection.current)

    def result(self, trace_id: str | None) -> TraceResult | None:
        return self._results.get(trace_id) if trace_id is not None else None

    def row(self, trace_id: str) -> StringRow | None:
        return self._rows.get(trace_id)

    def shown_results(self) -> tuple[TraceResult, ...]:
        """Results of the selected and pinned traces, in the order they are drawn."""
        return tuple(self._results[one] for one in self.selection.shown if one in self._results)

    def combiners(self) -> tuple[str, ...]:
        """The layout's combiners in its order, then names that only traces carry."""
        known = [box.name for box in self.layout.combiners] if self.layout else []
        found = sorted(set(self._by_combiner) - set(known), key=natural)
        return tuple(known + found)

    def results_of(self, combiner: str) -> tuple[TraceResult, ...]:
        """Results of one combiner's traces in the shown visit, in order of arrival."""
        ids = self.shown_ids()
        box = self._by_combiner.get(combiner, {})
        return tuple(one for name, one in box.items() if ids is None or name in ids)

    def all_results_of(self, combiner: str) -> tuple[TraceResult, ...]:
        """Results of one combiner's traces on every visit, in order of arrival."""
        return tuple(self._by_combiner.get(combiner, {}).values())

    def label_of(self, result: TraceResult) -> str:
        """How panes call a trace: string and day, the time where the string has several of it."""
        return label_among(result, self.all_results_of(result.trace.combiner or ""))

    def years_source(self) -> YearsSource | None:
        """What rates over the years are computed from; None before everything has arrived."""
        if self.layout is None or not self._results or self.is_loading:
            return None
        repairs = self.repairs or self._settled_repairs()
        return YearsSource(self.layout, self.results, repairs, self.inputs.uncertainties)

    def _settled_repairs(self) -> tuple[Repair, ...]:
        """Of an open folder, what was done about settled findings; a site file keeps its own."""
        if self.folder is None or self.folder.is_file():
            return ()
        done = [one for one in self.settled.every if one.action]
        if not done:
            return ()
        sources = {source for one in done for source in (one.trace, one.retest)}
        found = {one: self._results[one].trace for one in sources if one in self._results}
        return repairs_of(done, found)

    def _settled_changed(self) -> None:
        """Rates of an open folder depend on what was done about settled findings."""
        made = self._settled_repairs()
        if made != self._repairs_of_folder:
            self._repairs_of_folder = made
            self.years.forget()

    @property
    def is_loading(self) -> bool:
        return self._loading is not None and self._loading.outcome.value is None

    def shown_visit(self) -> Visit | None:
        """The one visit the panes are limited to, or None for all."""
        wanted = self.choices.visit.value
        return next((visit for visit in self.visits if visit.name == wanted), None)

    def shown_ids(self) -> frozenset[str] | None:
        """Ids of the traces of the shown visit, or None when all visits are shown."""
        visit = self.shown_visit()
        return visit.trace_ids if visit else None

    def _turn_to_visit(self, _: object) -> None:
        """Select the same strings on the visit that is shown now, if none of it is selected."""
        ids, chosen = self.shown_ids(), self.selection.ids
        if ids is None or not chosen or not ids.isdisjoint(chosen):
            return
        known = [row for row in map(self.row, chosen) if row is not None]
        others = same_strings(self.rows, known, ids)
        if others:
            self.selection.choose(others.values(), others.get(self.selection.current or ""))

    def tells_days(self, trace_ids: Iterable[str]) -> bool:
        """Whether their names leave open which visit they are of: not all are of the shown one."""
        ids = self.shown_ids()
        return len(self.visits) > 1 if ids is None else not ids.issuperset(trace_ids)

    def suspects(self) -> tuple[str, ...]:
        """Traces of the shown visit that are worth a look, the most suspect first."""
        wanted = self.choices.visit.value
        if self._suspects is None or self._suspects[0] != wanted:
            ids, bad = self.shown_ids(), self._worth_a_look
            wanted_ids = bad if ids is None else bad & ids
            found = suspects(row for one, row in self._rows.items() if one in wanted_ids)
            self._suspects = (wanted, found)
        return self._suspects[1]

    def has_suspects(self) -> bool:
        """Whether any is; asked at every notice, so that it must not go through them all."""
        ids = self.shown_ids()
        if ids is None:
            return bool(self._worth_a_look)
        return not ids.isdisjoint(self._worth_a_look)

    def open_again(self) -> None:
        """Open what was left open, and choose the same visit and traces once they arrive."""
        left = self.left_open.value
        if left is not None:
            self.open(Path(left.folder), left)

    def open(self, path: Path, again: WhatWasOpen | None = None) -> None:
        """Open a visit folder: what was open is left, results arrive as they are computed."""
        self._again = again
        self.left_open.value = None
        if self._loading is not None:
            self._loading.cancel()
        path = path.expanduser().absolute()
        if path != self.folder:
            self.history.forget()
        self.folder = path
        self._empty()
        with self.choices.visit.changed.held(), self.choices.combiner.changed.held():
            self.choices.visit.value = None
            self.choices.combiner.value = None
        self.selection.forget()
        self.marks.open(path)
        self.years.begin_anew()
        if path.is_dir():
            self._take_choices(self._folder_choices.read(path))
        self.notes.show(None)
        self.opened.notify()
        self.site_changed.notify()
        self.inputs = self.settings.value.analysis_inputs
        self._loading = Job(f"Opening {path.name}", lambda: self._steps(path), self.take)
        self._loading.outcome.changed.connect(self._loaded)
        self.jobs.start(self._loading)

    def _notes_may_differ(self, *_: object) -> None:
        if self.notes.kept is not None:
            self.kept_may_differ.notify()

    def _open_imported(self, path: Path) -> None:
        """What was stored, and what was left, still stands there once the file is open."""
        self._said_before_opening = self.notes.said_of_import
        self.open(path)

    def _open_turned(self, path: Path) -> None:
        """So does what undo or redo has taken back or done again."""
        self._said_before_opening = self.notes.kept.said if self.notes.kept is not None else ""
        self.open(path)

    def _steps(self, path: Path) -> Iterator[Step]:
        for progress, arrival in self.opener(path, self.inputs):
            yield Step(progress, arrival)

    def _is_folder_open(self) -> bool:
        return self.layout is not None and self.folder is not None and self.folder.is_dir()

    @property
    def undo_label(self) -> str | None:
        """What undo would take back, in words; None: there is nothing."""
        kept = self.notes.kept
        return self.history.undo_label if kept is None else kept.undo

    @property
    def redo_label(self) -> str | None:
        kept = self.notes.kept
        return self.history.redo_label if kept is None else kept.redo

    def undo(self, *_: object) -> None:
        """Take back the last step: of the site file's journal, or of the open folder."""
        (self.history if self.notes.path is None else self.notes).undo()

    def redo(self, *_: object) -> None:
        (self.history if self.notes.path is None else self.notes).redo()

    def _turned(self, file: Path | None) -> None:
        """A file of the folder is as it was before, or again as it was after."""
        if file is not None and file.name == SITE_TOML and self.folder is not None:
            self.open(self.folder)
        else:
            self.marks.refresh()

    def compute_again(self) -> None:
        """The open site once more with the settings' inputs; the selection and the rest stay."""
        self.inputs = self.settings.value.analysis_inputs
        path = self.folder
        if path is None or self.layout is None:
            return
        if self.is_loading and not self._complete:
            self.open(path)
            return
        if self._loading is not None:
            self._loading.cancel()
        self._unreadable = []
        self._loading = Job(
            "Computing again with the new settings", lambda: self._results_only(path), self.take
        )
        self._loading.outcome.changed.connect(self._computed_again)
        self.jobs.start(self._loading)

    def _results_only(self, path: Path) -> Iterator[Step]:
        for progress, arrival in self.opener(path, self.inputs):
            yield Step(progress, Arrival(results=arrival.results, unreadable=arrival.unreadable))

    def _computed_again(self, outcome: Outcome) -> None:
        if self.is_loading:
            return
        if outcome.kind == "done":
            self.message.value = "Computed again with the new settings. " + self.summary()
        elif outcome.kind == "cancelled":
            self.message.value = (
                "Computing again was cancelled: some results still stand on the settings before. "
                "Open the site again to have them all alike."
            )
        else:
            self.message.value = outcome.text
        self.loaded.notify()

    def take(self, arrivals: Sequence[Arrival]) -> None:
        """Add what arrived; called where the window lives."""
        layouts = [one.layout for one in arrivals if one.layout is not None]
        if layouts:
            self.layout = layouts[-1]
            self.site_changed.notify()
        for one in arrivals:
            if one.listing is not None:
                self._list(one.listing)
        results = tuple(result for one in arrivals for result in one.results)
        unreadable = tuple(file for one in arrivals for file in one.unreadable)
        settings = self.settings.value
        another_time = False
        for result in results:
            known = self._results.get(result.trace.source)
            if known is None or known.trace.measured_at != result.trace.measured_at:
                another_time = True
            self._results[result.trace.source] = result
            self._add_row(string_row(result, settings))
            box = self._by_combiner.setdefault(result.trace.combiner or "", {})
            box[result.trace.source] = result
        self._unreadable.extend(unreadable)
        self.remarks += tuple(remark for one in arrivals for remark in one.remarks)
        self.repairs += tuple(repair for one in arrivals for repair in one.repairs)
        starts = [one.baseline_start for one in arrivals if one.baseline_start is not None]
        if starts:
            self.years.mark(starts[-1])
        if results:
            if another_time and self._listing is None:
                self._visits = None
            self._suspects = None
            self.years.forget()
        self.arrived.notify(Arrival(self.layout, results, unreadable))

    def _add_row(self, row: StringRow) -> None:
        self._rows[row.trace_id] = row
        if is_suspect(row):
            self._worth_a_look.add(row.trace_id)
        else:
            self._worth_a_look.discard(row.trace_id)

    def _set_rows(self, rows: dict[str, StringRow]) -> None:
        self._rows = rows
        self._worth_a_look = {one for one, row in rows.items() if is_suspect(row)}
        self._suspects = None

    def _list(self, listing: Listing) -> None:
        """Show the names of traces whose results are still to come, on their newest visit."""
        self._listing = listing
        self._set_rows(listing.rows_by(self.settings.value))
        self._visits = listing.visits
        self._begin_with_newest_visit()

    def _begin_with_newest_visit(self) -> None:
        dated = [visit for visit in self.visits if visit.started_at is not None]
        if self.choices.visit.value is None and len(dated) > 1:
            self.choices.visit.value = dated[-1].name

    def _end_listing(self) -> None:
        """Traces that gave no result are no longer listed; the results stand as they were listed,
        in whatever order they came."""
        if self._listing is None:
            return
        listing, self._listing = self._listing, None
        self._results = listing.in_order(self._results)
        boxes = self._by_combiner.items()
        self._by_combiner = {box: listing.in_order(found) for box, found in boxes}
        if self._rows.keys() != self._results.keys():
            self._set_rows({one: row for one, row in self._rows.items() if one in self._results})
            self._visits = None
            self.arrived.notify(Arrival(self.layout))

    def _notes_changed(self) -> None:
        """Repairs may have been added or taken back: rates depend on them."""
        kept = self.notes.kept
        if kept is None:
            return
        if kept.repairs != self.repairs:
            self.repairs = kept.repairs
            self.years.forget()
        self.years.mark(kept.baseline_start)
        self._take_choices(kept.choices)

    def _take_choices(self, choices: KeptChoices) -> None:
        """Those that are kept with the site hold; they are not stored again."""
        self._taking_choices = True
        try:
            self.years.baseline.value = choices.baseline
            self.years.terms.value = dict(choices.terms)
        finally:
            self._taking_choices = False

    def _baseline_chosen(self, _: object) -> None:
        self._keep_choices("Baseline visit")

    def _terms_chosen(self, _: object) -> None:
        self._keep_choices("Warranty terms")

    def _keep_choices(self, label: str) -> None:
        """Store baseline and terms with the open site: in its file or beside its folder."""
        if self._taking_choices or self.layout is None or self.folder is None:
            return
        choices = KeptChoices(self.years.baseline.value, dict(self.years.terms.value))
        if self.folder.is_dir():
            self._folder_choices.keep(self.folder, choices)
        elif self.notes.path is not None:
            self.notes.keep_choices(label, choices)
        elif self.folder.is_file():
            self.message.value = f"{label}: not kept, as the site is still being opened."

    def _say(self, sentence: str) -> None:
        self.message.value = sentence

    def _loaded(self, outcome: Outcome) -> None:
        """Say how opening ended, and begin with the newest visit and a first string."""
        text = outcome.text
        if not self.is_loading:
            self._complete = True
            self._end_listing()
        if outcome.kind == "done":
            self.settings.value = self.settings.value.with_recent(str(self.folder))
            text = f"{self._said_before_opening} {self.summary()}".lstrip()
            self._begin_with_newest_visit()
            if self.folder is not None and looks_like_site_file(self.folder):
                self.notes.show(self.folder)
        self._said_before_opening = ""
        self._choose_again()
        if not self.selection.ids:
            first = next(iter(self.suspects()), None) or next(iter(self._rows), None)
            if first is not None:
                self.selection.choose([first])
        self.message.value = text
        self.loaded.notify()

    def _choose_again(self) -> None:
        """The visit and the traces that were chosen before a crash, as far as they are there."""
        left, self._again = self._again, None
        if left is None or self.selection.ids:
            return
        if any(visit.name == left.visit for visit in self.visits):
            self.choices.visit.value = left.visit
        elif not left.visit:
            self.choices.visit.value = None
        for one in left.pinned:
            if one in self._rows:
                self.selection.pin(one)
        self.selection.choose([one for one in left.selected if one in self._rows], left.current)

    def summary(self) -> str:
        """One line: how much was read, how many stand out, how many files gave nothing."""
        count, bad = len(self._results), len(self._unreadable)
        name = self.layout.name if self.layout else "No site"
        text = f"{name}: {counted(count, 'trace')}"
        if bad:
            text += f", {counted(bad, 'file')} unreadable"
        return text + "."

    def _judge_again(self, settings: Settings) -> None:
        """Thresholds may have changed: judge every trace by the new ones."""
        if settings.analysis_inputs != self.inputs:
            self.compute_again()
        if settings.verdict_limits == self._judged_by:
            return
        self._judged_by = settings.verdict_limits
        before = self._rows
        rows = self._listing.rows_by(settings) if self._listing else {}
        rows |= {one: string_row(result, settings) for one, result in self._results.items()}
        self._set_rows(rows)
        if self._rows != before:
            self.arrived.notify(Arrival(self.layout))
