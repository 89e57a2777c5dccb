"""Where settled findings are kept: in the site file, or beside a visit folder.

In a site file each is a finding, and a repair if something was done, for people and for the
rates over the years; its record with parts and retest is a setting of the site, by trace.
"""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from viewer.analysis.causes.confirmation import Confirmation
from viewer.site_data.confirmations_file import read_confirmations_file, write_confirmations_file
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
from viewer.site_data.site_file.journal import one_step
from viewer.site_data.site_file.plot_marks import trace_numbers

PREFIX = "settled finding "
"""Before the trace's source: the name of the setting that holds the record."""


@dataclass(frozen=True)
class NewlySettled:
    """A confirmation and the string it is about."""

    confirmation: Confirmation
    combiner: str
    string: str
    first_time: bool
    """No earlier confirmation of the same trace: a finding and a repair are to be added."""

    @property
    def label(self) -> str:
        """The step in words, for undo."""
        return f"Finding on {self.combiner} {self.string}".rstrip()


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
    """
    one = new.confirmation
    place = known_string_id(site_file, new.combiner, new.string)
    trace = None
    if place is None and (trace := trace_numbers(site_file).get(one.trace)) is None:
        raise SiteFileError(f"{site_file.path.name}: it has no trace {one.trace}.")
    with one_step(site_file, new.label):
        write_settings(site_file, {PREFIX + one.trace: one.as_dict()})
        if not new.first_time:
            return
        about = About(string_id=place, trace_id=trace)
        number = add_finding(site_file, about, in_words(one), one.confirmed, one.author)
        if one.action:
            if place is not None:
                at = one.confirmed_at
                day = at.astimezone().date() if at is not None else date.today()
                repair = Repair(new.combiner, new.string, day, in_words(one))
                add_repair(site_file, repair, number, one.author)
            close_finding(site_file, number)


def in_words(one: Confirmation) -> str:
    """The cause, whether it was the suggested one, what was done, and the parts."""
    cause = one.confirmed.replace("_", " ")
    text = f"Confirmed: {cause}." if one.agreed else f"Corrected to {cause}."
    if not one.agreed:
        text += f" The first suggestion was {one.suggested.replace('_', ' ')}."
    if one.action:
        text += f" {one.action.rstrip('.')}."
    if one.parts:
        text += f" Parts: {', '.join(one.parts)}."
    return text
