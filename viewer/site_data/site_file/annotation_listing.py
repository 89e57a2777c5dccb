"""Everything people have added to a site file, in order of time."""

from typing import NamedTuple

from viewer.site_data.site_file.connection import SiteFile


class Annotation(NamedTuple):
    """One finding, repair, note or picture; `about` says in words what it belongs to."""

    kind: str
    number: int
    when: str
    about: str
    text: str
    author: str | None
    state: str


_ABOUT = """
    coalesce(
        (SELECT combiners.name || '/' || strings.name FROM strings
         JOIN combiners ON combiners.id = combiner_id WHERE strings.id = one.string_id),
        (SELECT source FROM traces WHERE traces.id = one.trace_id),
        (SELECT 'visit ' || name FROM visits WHERE visits.id = one.visit_id),
        'the site')
"""
_QUERIES = (
    "SELECT 'finding', id, created_at, " + _ABOUT.replace("one.visit_id", "NULL") + ", "
    "text || CASE WHEN cause IS NULL THEN '' ELSE ' (' || cause || ')' END, author, status "
    "FROM findings AS one",
    "SELECT 'repair', id, repaired_on, "
    + _ABOUT.replace("one.visit_id", "NULL").replace("one.trace_id", "NULL")
    + ", text, author, '' FROM repairs AS one",
    "SELECT 'note', id, created_at, " + _ABOUT + ", text, author, '' FROM notes AS one",
    "SELECT 'picture', id, created_at, " + _ABOUT + ", "
    "file_name || CASE WHEN caption IS NULL THEN '' ELSE ': ' || caption END, NULL, kind "
    "FROM pictures AS one",
)


def list_annotations(site_file: SiteFile) -> list[Annotation]:
    """Findings, repairs, notes and pictures."""
    with site_file.reading() as connection:
        rows = [row for query in _QUERIES for row in connection.execute(query)]
    return sorted((Annotation._make(row) for row in rows), key=lambda one: (one.when, one.number))
