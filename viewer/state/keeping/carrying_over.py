"""What a visit folder keeps beside its traces, brought into a site file with an import.

Everything becomes part of the import's own step, so that one undo takes it all back. What the site
file says itself is never written over, and what an earlier import brought never comes again, even
where it was changed or removed since.
"""

import hashlib
import json
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from viewer.analysis.causes.confirmation import Confirmation
from viewer.physics.nomenclature import counted
from viewer.reading.visits.visit_folder import RECIPE_NAME
from viewer.reports.annotation import as_table, from_table
from viewer.site_data.iv_trace import Trace
from viewer.site_data.pictures import NewPicture, Picture, PictureError, PicturePlace
from viewer.site_data.pictures_file import picture_bytes, read_pictures_file
from viewer.site_data.plot_marks_file import read_marks_file
from viewer.site_data.report_details_file import EnteredDetails
from viewer.site_data.site_file.annotations import (
    About,
    known_string_id,
    read_settings,
    write_settings,
)
from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.listing import list_visits
from viewer.site_data.site_file.pictures import attach_pictures, read_pictures
from viewer.site_data.site_file.plot_marks import add_plot_mark, read_plot_marks, trace_numbers
from viewer.state.keeping.report_texts import details_in, store_details_in, stored_details
from viewer.state.keeping.settled_store import (
    NewlySettled,
    day_of,
    settled_in,
    settled_in_folder,
)
from viewer.state.keeping.settled_store import store_in_site_file as store_settled
from viewer.state.keeping.stored_names import stored_names, visit_names
from viewer.state.program.jobs import Progress
from viewer.state.years.kept_choices import (
    KeptChoices,
    choices_in,
    store_in_site_file,
    stored_choices,
)

BROUGHT = "brought by imports"
"""Name of the setting that tells, by SHA-256, which marks and pictures imports have brought."""
RECIPE = "reading recipe"
"""Name of the setting that holds the text of the folder's recipe.toml."""
LABEL = "Carry over"
ENTRY, TERMS = "report entry", "module's warranty terms"
PLURALS: dict[str, str] = {ENTRY: "report entries", TERMS: "modules' warranty terms"}


@dataclass
class Carried:
    """What was carried from one place to the other, and what was not."""

    counts: Counter[str] = field(default_factory=Counter)
    """By what it is, in the singular."""
    left: list[str] = field(default_factory=list)
    """What could not be carried and why, each a part of a sentence."""

    def text(self) -> str:
        """What was carried, in one sentence; empty when there was nothing."""
        parts = [counted(n, noun, PLURALS.get(noun, "")) for noun, n in self.counts.items() if n]
        return f"Carried over: {', '.join(parts)}." if parts else ""

    def left_text(self) -> str:
        """What was not, in one sentence; empty when nothing was left."""
        return f"Not carried over: {'; '.join(self.left)}." if self.left else ""


def carry_over_steps(
    site_file: SiteFile, folder: Path, traces: Sequence[Trace], carried: Carried
) -> Iterator[Progress]:
    """Bring in what the folder keeps; what came of it is added to `carried`.

    traces: all that the folder holds, already stored. A file of the folder that cannot be used is
    told of and left; nothing of it makes the import fail. Raises SiteFileError.
    """
    run = _Run(site_file, folder, traces, carried)
    for kind, steps in (
        ("the marks on plots", run.marks),
        ("the pictures", run.pictures),
        ("the settled findings", run.settled),
        ("the choices", run.choices),
        ("the report entries", run.entries),
        (f"the {RECIPE}", run.recipe),
    ):
        yield Progress(0, None, kind)
        try:
            yield from steps()
        except (ValueError, OSError) as problem:
            carried.left.append(f"{kind} ({str(problem).rstrip('.')})")
    run.remember()


class _Run:
    """One folder on its way into one site file."""

    def __init__(
        self, site_file: SiteFile, folder: Path, traces: Sequence[Trace], carried: Carried
    ) -> None:
        self.site_file = site_file
        self.folder = folder
        self.carried = carried
        self.traces = {one.source: one for one in traces}
        self.names = stored_names(site_file, traces)
        self.visits = visit_names(site_file, traces, self.names)
        settings = read_settings(site_file)
        self.brought = set(settings.get(BROUGHT, ()))
        self.brought_before = len(self.brought)

    def remember(self) -> None:
        if len(self.brought) != self.brought_before:
            write_settings(self.site_file, {BROUGHT: sorted(self.brought)})

    def _is_new(self, kind: str, *content: Any) -> bool:
        """Whether no import has brought this yet; from now on one has."""
        text = json.dumps([kind, *content], sort_keys=True)
        digest = hashlib.sha256(text.encode()).hexdigest()
        if digest in self.brought:
            return False
        self.brought.add(digest)
        return True

    def _leave_strangers(self, noun: str, strangers: Sequence[str]) -> None:
        """Things about traces that the folder does not hold (any more)."""
        if strangers:
            count = len(strangers)
            self.carried.left.append(
                f"{counted(count, noun)} of traces that are not in the folder "
                f"({', '.join(dict.fromkeys(strangers))})"
            )

    def marks(self) -> Iterator[Progress]:
        there = {(source, json.dumps(table)) for _, source, table in _tables_in(self.site_file)}
        strangers: list[str] = []
        for place, (source, table) in enumerate(read_marks_file(self.folder), start=1):
            try:
                mark = as_table(from_table(table))
            except ValueError as problem:
                self.carried.left.append(f"plot mark {place} ({str(problem).rstrip('.')})")
                continue
            name = self.names.get(source)
            if name is None:
                strangers.append(source)
            elif self._is_new("mark", name, mark) and (name, json.dumps(mark)) not in there:
                add_plot_mark(self.site_file, name, mark, LABEL)
                self.carried.counts["plot mark"] += 1
        self._leave_strangers("plot mark", strangers)
        yield from ()

    def pictures(self) -> Iterator[Progress]:
        known = {(one.sha256, one.place) for one in read_pictures(self.site_file)}
        pictures = read_pictures_file(self.folder)
        elsewhere: list[str] = []
        for done, one in enumerate(pictures):
            yield Progress(done, len(pictures), "pictures")
            place, whole = self._place(one.place)
            about = [place.combiner, place.string, place.trace, place.visit]
            key = [one.sha256, *about, one.kind, one.caption]
            if (one.sha256, place) in known or not self._is_new("picture", *key):
                continue
            try:
                self._attach(one, place)
            except PictureError as problem:
                self.carried.left.append(f"{one.file_name} ({str(problem).rstrip('.')})")
                continue
            self.carried.counts["picture"] += 1
            if not whole:
                elsewhere.append(one.file_name)
        if elsewhere:
            self.carried.left.append(
                f"what {', '.join(elsewhere)} belonged to, for the site file has no such string, "
                "trace or visit"
            )

    def _attach(self, one: Picture, place: PicturePlace) -> None:
        content = picture_bytes(self.folder, one)
        new = NewPicture(one.file_name, content, one.taken_at, one.kind, one.caption)
        visit = next((v.id for v in list_visits(self.site_file) if v.name == place.visit), None)
        about = About(
            string_id=known_string_id(self.site_file, place.combiner, place.string),
            visit_id=visit,
            trace_id=trace_numbers(self.site_file).get(place.trace),
        )
        attach_pictures(self.site_file, about, [new], LABEL, one.added_at or None)

    def _place(self, place: PicturePlace) -> tuple[PicturePlace, bool]:
        """The same place by the site file's names, and whether all of it is known there."""
        known = known_string_id(self.site_file, place.combiner, place.string) is not None
        named = bool(place.combiner or place.string)
        trace = self.names.get(place.trace, "")
        visit = self.visits.get(place.visit, "")
        whole = known or not named
        whole &= bool(trace) == bool(place.trace) and bool(visit) == bool(place.visit)
        there = PicturePlace(
            place.combiner if known else "", place.string if known else "", trace, visit
        )
        return there, whole

    def settled(self) -> Iterator[Progress]:
        kept = {one.trace: one for one in settled_in(self.site_file)}
        strangers: list[str] = []
        for one in settled_in_folder(self.folder):
            name, trace = self.names.get(one.trace), self.traces.get(one.trace)
            if name is None or trace is None:
                strangers.append(one.trace)
                continue
            retest = self.names.get(one.retest, one.retest) if one.retest else None
            mine, theirs = kept.get(name), replace(one, trace=name, retest=retest)
            if mine == theirs or not _is_later(theirs, mine):
                continue
            again = self.traces.get(one.retest) if one.retest else None
            days = (day_of(trace), day_of(again) if again else None)
            store_settled(self.site_file, NewlySettled(theirs, *trace.place, mine is None, *days))
            self.carried.counts["settled finding"] += 1
        self._leave_strangers("settled finding", strangers)
        yield from ()

    def choices(self) -> Iterator[Progress]:
        theirs, mine = stored_choices(self.folder), choices_in(self.site_file)
        baseline = mine.baseline
        if theirs.baseline is not None:
            named = self.visits.get(theirs.baseline)
            if named is None:
                self.carried.left.append(f"the baseline {theirs.baseline}, which is no visit there")
            elif baseline is None:
                baseline = named
                self.carried.counts["baseline visit"] += 1
            elif baseline != named:
                self.carried.left.append(f"the baseline {named} (the site file has {baseline})")
        for key, terms in theirs.terms.items():
            if key not in mine.terms:
                self.carried.counts[TERMS] += 1
            elif mine.terms[key] != terms:
                self.carried.left.append(f"warranty terms of {key} (the site file has its own)")
        both = KeptChoices(baseline, {**theirs.terms, **mine.terms})
        store_in_site_file(self.site_file, both, LABEL)
        yield from ()

    def entries(self) -> Iterator[Progress]:
        theirs, mine = stored_details(self.folder), details_in(self.site_file)
        values, own = self._by_stored_names(theirs.values), mine.values
        for key, value in values.items():
            if key != "texts" and key in own and own[key] != value:
                self.carried.left.append(f"the report entry {key} (the site file has its own)")
        merged = {**values, **own}
        texts = {**values.get("texts", {}), **own.get("texts", {})}
        if texts:
            merged["texts"] = texts
        repairs = tuple(dict.fromkeys((*mine.repairs, *theirs.repairs)))
        new = len([key for key in merged if merged[key] != own.get(key)])
        new += len(repairs) - len(mine.repairs)
        if new:
            store_details_in(self.site_file, EnteredDetails(merged, repairs))
            self.carried.counts[ENTRY] += new
        if "logo" in values and "logo" not in own:
            self.carried.left.append(
                f"the logo's own bytes: reports go on reading it from {merged['logo']}"
            )
        yield from ()

    def _by_stored_names(self, values: dict[str, Any]) -> dict[str, Any]:
        """Report entries that name traces, by the site file's names of them."""
        named = dict(values)
        if "texts" in values:
            texts = values["texts"].items()
            named["texts"] = {self.names[key]: said for key, said in texts if key in self.names}
            self._leave_strangers("report text", [key for key, _ in texts if key not in self.names])
        if "strings" in values:
            chosen = tuple(self.names[one] for one in values["strings"] if one in self.names)
            named["strings"] = chosen
        return {key: value for key, value in named.items() if value not in ((), {})}

    def recipe(self) -> Iterator[Progress]:
        file = self.folder / RECIPE_NAME
        if file.is_file():
            text = file.read_text(encoding="utf-8")
            mine = read_settings(self.site_file).get(RECIPE)
            if mine is None:
                write_settings(self.site_file, {RECIPE: text})
                self.carried.counts[RECIPE] += 1
            elif mine != text:
                self.carried.left.append(f"the {RECIPE} (the site file has an earlier import's)")
        yield from ()


def _is_later(one: Confirmation, other: Confirmation | None) -> bool:
    if other is None or other.confirmed_at is None or one.confirmed_at is None:
        return other is None
    return one.confirmed_at > other.confirmed_at


def _tables_in(site_file: SiteFile) -> list[tuple[int, str, dict[str, Any]]]:
    """The marks there are, each as the table that another would be written as."""
    found = read_plot_marks(site_file)
    return [(number, source, as_table(from_table(table))) for number, source, table in found]
