"""What a site file keeps beside its traces, written as files beside them in a restored folder."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from viewer.physics.nomenclature import counted
from viewer.reading.visits.visit_folder import RECIPE_NAME
from viewer.site_data.pictures import Picture, PicturePlace
from viewer.site_data.pictures_file import keep_picture_bytes, write_pictures_file
from viewer.site_data.plot_marks_file import write_marks_file
from viewer.site_data.report_details_file import EnteredDetails
from viewer.site_data.site_file.annotation_listing import list_annotations
from viewer.site_data.site_file.annotations import read_settings
from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.listing import list_traces, list_visits
from viewer.site_data.site_file.pictures import read_pictures
from viewer.site_data.site_file.plot_marks import read_plot_marks, trace_numbers
from viewer.site_data.site_file.record_columns import time_value
from viewer.site_data.site_file.restoring import restored_sources
from viewer.site_data.site_file.stored_bytes import read_bytes
from viewer.site_data.visit_grouping import group_visits
from viewer.site_data.whole_file import write_whole
from viewer.state.keeping.carrying_over import ENTRY, RECIPE, TERMS, Carried
from viewer.state.keeping.report_texts import details_in, store_details
from viewer.state.keeping.settled_store import in_words, settled_in
from viewer.state.keeping.settled_store import store_in_folder as store_settled
from viewer.state.years.kept_choices import KeptChoices, choices_in, store_in_folder


def carry_back(site_file: SiteFile, folder: Path) -> Carried:
    """Write what a folder can hold into one that has just been restored from the site file.

    Raises ValueError or OSError with one sentence.
    """
    carried = Carried()
    names = _restored_names(site_file)
    _marks(site_file, folder, names, carried)
    _pictures(site_file, folder, names, carried)
    _settled(site_file, folder, names, carried)
    _choices(site_file, folder, carried)
    _entries(site_file, folder, names, carried)
    recipe = read_settings(site_file).get(RECIPE)
    if recipe is not None:
        write_whole(folder / RECIPE_NAME, recipe)
        carried.counts[RECIPE] += 1
    _tell_left(site_file, carried)
    return carried


def _restored_names(site_file: SiteFile) -> dict[str, str]:
    """By the name under which the site file shows a trace, its source in the folder."""
    sources = restored_sources(site_file)
    numbers = trace_numbers(site_file).items()
    return {name: sources[number] for name, number in numbers if number in sources}


def _marks(site_file: SiteFile, folder: Path, names: Mapping[str, str], carried: Carried) -> None:
    rows = [(source, table) for _, source, table in read_plot_marks(site_file)]
    marks = [(names[source], table) for source, table in rows if source in names]
    write_marks_file(folder, marks)
    carried.counts["plot mark"] += len(marks)


def _pictures(
    site_file: SiteFile, folder: Path, names: Mapping[str, str], carried: Carried
) -> None:
    visits = _restored_visits(site_file)
    pictures: list[Picture] = []
    for one in read_pictures(site_file):
        trace, visit = names.get(one.place.trace, ""), visits.get(one.place.visit, "")
        place = PicturePlace(one.place.combiner, one.place.string, trace, visit)
        pictures.append(replace(one, number=len(pictures) + 1, place=place))
        keep_picture_bytes(folder, one, read_bytes(site_file, one.sha256))
    write_pictures_file(folder, pictures)
    carried.counts["picture"] += len(pictures)


def _settled(site_file: SiteFile, folder: Path, names: Mapping[str, str], carried: Carried) -> None:
    settled = [
        replace(
            one,
            trace=names[one.trace],
            retest=names.get(one.retest, one.retest) if one.retest else None,
        )
        for one in settled_in(site_file)
        if one.trace in names
    ]
    if settled:
        store_settled(folder, settled)
    carried.counts["settled finding"] += len(settled)


def _choices(site_file: SiteFile, folder: Path, carried: Carried) -> None:
    kept = choices_in(site_file)
    baseline = kept.baseline and _restored_visits(site_file).get(kept.baseline)
    store_in_folder(folder, KeptChoices(baseline, kept.terms))
    carried.counts["baseline visit"] += baseline is not None
    carried.counts[TERMS] += len(kept.terms)


def _entries(site_file: SiteFile, folder: Path, names: Mapping[str, str], carried: Carried) -> None:
    details = details_in(site_file)
    values = dict(details.values)
    if "texts" in values:
        texts = values["texts"].items()
        values["texts"] = {names[key]: said for key, said in texts if key in names}
    if "strings" in values:
        values["strings"] = tuple(names[one] for one in values["strings"] if one in names)
    if values.get("logo"):
        values["logo"] = Path(values["logo"]).resolve()
    if values or details.repairs:
        store_details(folder, EnteredDetails(values, details.repairs))
    carried.counts[ENTRY] += len(values) + len(details.repairs)


def _tell_left(site_file: SiteFile, carried: Carried) -> None:
    """A folder keeps no notes: what people added there stays in the site file alone."""
    settled = tuple(in_words(one) for one in settled_in(site_file))
    annotations = [one for one in list_annotations(site_file) if one.kind != "picture"]
    with site_file.reading() as connection:
        (modules,) = connection.execute("SELECT count(*) FROM modules").fetchone()
    counts = {"module serial": modules}
    for one in annotations:
        if not one.text.startswith(settled):
            counts[one.kind] = counts.get(one.kind, 0) + 1
    kinds = [counted(n, kind) for kind, n in counts.items() if n]
    if kinds:
        carried.left.append(
            f"{', '.join(kinds)} (a folder cannot hold them; they stay in {site_file.path.name})"
        )


@dataclass(frozen=True)
class _Restored:
    """A trace as a restored folder will hold it."""

    source: str
    measured_at: datetime | None


def _restored_visits(site_file: SiteFile) -> dict[str, str]:
    """By the name of a visit in the site file, the name that the folder will give it."""
    sources = restored_sources(site_file)
    of_visit = {one.id: one.name for one in list_visits(site_file)}
    traces = [one for one in list_traces(site_file) if one.id in sources]
    restored = [_Restored(sources[one.id], time_value(one.measured_at)) for one in traces]
    found: dict[str, str] = {}
    for group in group_visits(restored):
        for member in group.members:
            found.setdefault(of_visit[traces[member].visit_id], group.name)
    return found
