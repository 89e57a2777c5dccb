"""Which visit the later ones are compared with."""

from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.journal import RowChange, change
from viewer.site_data.site_file.listing import Visit, list_visits


def baseline_visit(site_file: SiteFile) -> Visit | None:
    """The baseline, or None in a file without dated traces."""
    return next((visit for visit in list_visits(site_file) if visit.is_baseline), None)


def visit_named(site_file: SiteFile, name: str) -> Visit:
    """The visit of that name. Raises SiteFileError naming the ones there are."""
    visits = list_visits(site_file)
    found = next((visit for visit in visits if visit.name == name), None)
    if found is None:
        names = ", ".join(visit.name for visit in visits) or "none"
        raise SiteFileError(f"{site_file.path.name}: it has no visit {name}; known: {names}.")
    return found


def set_baseline(site_file: SiteFile, name: str) -> None:
    """Make that visit the baseline, as one step of undo."""
    chosen = visit_named(site_file, name)
    with site_file.reading() as connection:
        rows = connection.execute("SELECT id, is_baseline FROM visits").fetchall()
    changes = [
        RowChange("visits", number, {"is_baseline": old}, {"is_baseline": int(number == chosen.id)})
        for number, old in rows
        if old != int(number == chosen.id)
    ]
    if changes:
        change(site_file, f"Baseline {name}", changes)
