"""Where settled findings are kept: in the site file, or beside a visit folder.

In a site file each is a finding, and a repair if something was done, for people and for the
rates over the years; its record with parts and retest is a setting of the site, by trace.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from viewer.analysis.causes.cause_words import cause_name
from viewer.analysis.causes.confirmation import Confirmation
from viewer.site_data.confirmations_file import read_confirmations_file, write_confirmations_file
from viewer.site_data.iv_trace import Trace
from viewer.site_data.site_file.annotations import (
    About,
    Repair,
    add_finding,
    add_repair,
    close_finding,
    known_string_id,
    read_settings,
    write_settings,
)
from viewer.site_data.site_file.connection import (
    SiteFile,
    looks_like_site_file,
    open_site_file,
)
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.journal import change_row, one_step
from viewer.site_data.site_file.plot_marks import trace_numbers

PREFIX = "settled finding "
"""Before the trace's source: the name of the setting that holds the record."""
FINDING, REPAIR = "finding", "repair"
"""Keys of that record: the rows that people and rates go by."""


@dataclass(frozen=True)
class NewlySettled:
    """A confirmation and the string it is about."""

    confirmation: Confirmation
    combiner: str
    string: str
    first_time: bool
    """No earlier confirmation of the same trace: a finding and a repair are to be added."""

    traced_on: date | None = None
    """Day of the trace it is about."""
    retested_on: date | None = None

    @property
    def repaired_on(self) -> date:
        """The day of the entry; where the string had been traced again by then, the day before
        that retest, or that of the trace if it was the same: a repair lies between its traces."""
        at = self.confirmation.confirmed_at
        entered = at.astimezone().date() if at is not None else date.today()
        if self.retested_on is None or self.retested_on > entered:
            return entered
        day_before = self.retested_on - timedelta(days=1)
        return max(day_before, self.traced_on) if self.traced_on else day_before

    @property
    def label(self) -> str:
        """The step in words, for undo."""
        return f"Finding on {self.combiner} {self.string}".rstrip()


def day_of(trace: Trace) -> date | None:
    """The day on which it was measured."""
    return trace.measured_at.date() if trace.measured_at else None


def settled_in_folder(folder: Path) -> list[Confirmation]:
    """Those of a folder, in order. Raises ValueError with one sentence."""
    return [Confirmation.from_dict(one) for one in read_confirmations_file(folder)]


def store_in_folder(folder: Path, confirmations: list[Confirmation]) -> None:
    """All of them, in the place of what was there. Raises OSError."""
    write_confirmations_file(folder, [one.as_dict() for one in confirmations])


def settled_in(site_file: SiteFile) -> list[Confirmation]:
    """Those of an open site file."""
    settings = read_settings(site_file)
    return [
        Confirmation.from_dict(value) for name, value in settings.items() if name.startswith(PREFIX)
    ]


def repairs_of(settled: Iterable[Confirmation], traces: Mapping[str, Trace]) -> tuple[Repair, ...]:
    """The actions among them as repairs, by the traces' sources; a site file keeps them itself."""
    made = []
    for one in settled:
        trace = traces.get(one.trace)
        if trace is None or not one.action:
            continue
        again = traces.get(one.retest) if one.retest else None
        days = (day_of(trace), day_of(again) if again else None)
        new = NewlySettled(one, *trace.place, True, *days)
        made.append(Repair(new.combiner, new.string, new.repaired_on, in_words(one)))
    return tuple(made)


def stored_settled(path: Path) -> list[Confirmation]:
    """Those kept with the site at a path, a site file or a folder. Raises ValueError."""
    if path.is_file() and looks_like_site_file(path):
        with open_site_file(path) as site_file:
            return settled_in(site_file)
    return settled_in_folder(path) if path.is_dir() else []


def store_in_site_file(site_file: SiteFile, new: NewlySettled) -> None:
    """As one step of the journal. Raises SiteFileError.

    The finding is about the string, or about the trace where the layout knows no such string;
    then there is nothing that a repair could belong to, and the finding's words tell of it.
    Settled again, its finding and repair say what holds now: an action entered later is a repair
    and closes the finding.
    """
    one = new.confirmation
    place = known_string_id(site_file, new.combiner, new.string)
    trace = None
    if place is None and (trace := trace_numbers(site_file).get(one.trace)) is None:
        raise SiteFileError(f"{site_file.path.name}: it has no trace {one.trace}.")
    before = read_settings(site_file).get(PREFIX + one.trace) or {}
    finding, repair = before.get(FINDING), before.get(REPAIR)
    with one_step(site_file, new.label):
        if finding is not None:
            told = {"cause": one.confirmed, "text": in_words(one)}
            change_row(site_file, "Finding", "findings", finding, told)
        elif new.first_time:
            about = About(string_id=place, trace_id=trace)
            finding = add_finding(site_file, about, in_words(one), one.confirmed, one.author)
        if one.action:
            if place is not None:
                made = Repair(new.combiner, new.string, new.repaired_on, in_words(one))
                if repair is not None:
                    told = {"repaired_on": made.repaired_on.isoformat(), "text": made.text}
                    change_row(site_file, "Repair", "repairs", repair, told)
                elif new.first_time or not before.get("action"):
                    repair = add_repair(site_file, made, finding, one.author)
            if finding is not None:
                close_finding(site_file, finding)
        kept = one.as_dict() | {FINDING: finding, REPAIR: repair}
        write_settings(site_file, {PREFIX + one.trace: kept})


def all_wordings(one: Confirmation) -> frozenset[str]:
    """The same, and as it was stored when names of causes were made of their codes: by its words a
    repair in a site file is known for that of a settled finding.
    """
    return frozenset((in_words(one), in_words(one, lambda cause: cause.replace("_", " "))))


def in_words(one: Confirmation, name: Callable[[str], str] = cause_name) -> str:
    """The cause, whether it was the suggested one, what was done, and the parts."""
    cause = name(one.confirmed)
    text = f"Confirmed: {cause}." if one.agreed else f"Corrected to {cause}."
    if not one.agreed:
        text += f" The first suggestion was {name(one.suggested)}."
    if one.action:
        text += f" {one.action.rstrip('.')}."
    if one.parts:
        text += f" Parts: {', '.join(one.parts)}."
    return text
