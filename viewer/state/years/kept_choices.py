"""What is chosen about a site over the years, kept with it: the baseline and warranty terms.

In a site file they are a setting, stored as a step of its journal; beside a visit folder they are
choices.toml. Undo of a folder's step writes the file again.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

import tomli_w

from viewer.site_data.site_file.annotations import read_settings, write_settings
from viewer.site_data.site_file.baseline import set_baseline
from viewer.site_data.site_file.connection import (
    SiteFile,
    looks_like_site_file,
    open_site_file,
)
from viewer.site_data.site_file.journal import one_step
from viewer.site_data.site_file.listing import list_visits
from viewer.site_data.warranty_terms import WarrantyTerms
from viewer.site_data.whole_file import read_toml, write_whole
from viewer.state.years.warranty_entry import terms_from

FILE_NAME = "choices.toml"
"""Beside the site.toml of a visit folder."""
SETTING = "choices"
"""Name of the setting in a site file; its value is the table of the file."""


@dataclass(frozen=True)
class KeptChoices:
    """The baseline by its visit's name, None: not chosen; warranty terms by module key."""

    baseline: str | None = None
    terms: Mapping[str, WarrantyTerms] = field(default_factory=dict)


def choices_table(choices: KeptChoices) -> dict[str, Any]:
    """As TOML and JSON can hold it; empty where nothing was chosen."""
    table: dict[str, Any] = {}
    if choices.baseline is not None:
        table["baseline"] = choices.baseline
    if choices.terms:
        table["warranty"] = {key: _terms_table(one) for key, one in choices.terms.items()}
    return table


def _terms_table(terms: WarrantyTerms) -> dict[str, Any]:
    table: dict[str, Any] = {"years": terms.years}
    if terms.steps:
        table["steps"] = [list(pair) for pair in terms.steps]
    else:
        table |= {"first_year": terms.first_year, "annual": terms.annual}
    if terms.start is not None:
        table["start"] = terms.start.isoformat()
    if terms.rated_power is not None:
        table["rated_power"] = terms.rated_power
    return table


def choices_from_table(table: Mapping[str, Any], name: str) -> KeptChoices:
    """Raises ValueError with one sentence; `name` is what it calls the file."""
    baseline, warranty = table.get("baseline"), table.get("warranty", {})
    if baseline is not None and not isinstance(baseline, str):
        raise ValueError(f"{name}: baseline must be the name of a visit, not {baseline!r}.")
    if not isinstance(warranty, dict) or not all(isinstance(x, dict) for x in warranty.values()):
        raise ValueError(f"{name}: write warranty terms as a table [warranty.KEY] for each module.")
    return KeptChoices(baseline, {key: _terms(one, name, key) for key, one in warranty.items()})


def _terms(table: Mapping[str, Any], name: str, key: str) -> WarrantyTerms:
    data = dict(table)
    try:
        if isinstance(data.get("start"), str):
            data["start"] = date.fromisoformat(data["start"])
        return terms_from(data)
    except ValueError as problem:
        raise ValueError(f"{name}, warranty of {key}: {problem}") from None


def stored_choices(path: Path) -> KeptChoices:
    """What is kept with the site at a path; nothing where nothing is. Raises ValueError."""
    if path.is_file() and looks_like_site_file(path):
        with open_site_file(path) as site_file:
            return choices_in(site_file)
    file = path / FILE_NAME
    if not file.is_file():
        return KeptChoices()
    table = read_toml(file)
    return choices_from_table(table, FILE_NAME)


def choices_in(site_file: SiteFile) -> KeptChoices:
    """Those of an open site file. Raises ValueError."""
    return choices_from_table(read_settings(site_file).get(SETTING, {}), site_file.path.name)


def store_in_folder(folder: Path, choices: KeptChoices) -> None:
    """In one move; without any choice there is no file. Raises OSError."""
    table, file = choices_table(choices), folder / FILE_NAME
    if not table:
        file.unlink(missing_ok=True)
        return
    write_whole(file, tomli_w.dumps(table))


def store_in_site_file(site_file: SiteFile, choices: KeptChoices, label: str) -> None:
    """As one step of the journal; the baseline is marked on its visit, too. Raises ValueError."""
    before = choices_in(site_file)
    if before == choices:
        return
    with one_step(site_file, label):
        write_settings(site_file, {SETTING: choices_table(choices)})
        names = {visit.name for visit in list_visits(site_file)}
        if choices.baseline in names and choices.baseline != before.baseline:
            set_baseline(site_file, str(choices.baseline))


def choose_baseline(site_file: SiteFile, visit: str) -> None:
    """Make a visit the baseline, in the file's marks and among the choices, as one step.

    Raises ValueError naming the visits there are.
    """
    chosen = replace(choices_in(site_file), baseline=visit)
    with one_step(site_file, f"Baseline {visit}"):
        set_baseline(site_file, visit)
        write_settings(site_file, {SETTING: choices_table(chosen)})


class FolderChoices:
    """Reads and writes those of an open folder."""

    def __init__(self, say: Callable[[str], object]) -> None:
        self._say = say

    def read(self, folder: Path) -> KeptChoices:
        try:
            return stored_choices(folder)
        except ValueError as problem:
            self._say(f"Baseline and warranty terms were not read: {problem}")
            return KeptChoices()

    def keep(self, folder: Path, choices: KeptChoices) -> None:
        try:
            store_in_folder(folder, choices)
        except OSError as problem:
            self._say(f"Baseline and warranty terms were not kept: {problem}")
