"""Pictures kept in the site file: their bytes once, and what each shows; changes can be undone."""

from collections.abc import Sequence
from typing import Any

from viewer.site_data.pictures import NewPicture, Picture, PicturePlace
from viewer.site_data.site_file.annotations import About
from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.journal import add_row, change_row, one_step, remove_row
from viewer.site_data.site_file.plot_marks import trace_numbers
from viewer.site_data.site_file.record_columns import time_text, time_value, utc_now
from viewer.site_data.site_file.stored_bytes import keep_bytes

TABLE = "pictures"
_QUERY = """
    SELECT pictures.id, kind, file_name, file_sha256, caption, taken_at, created_at,
           combiners.name, strings.name, trace_id, visits.name
    FROM pictures
    LEFT JOIN strings ON strings.id = pictures.string_id
    LEFT JOIN combiners ON combiners.id = strings.combiner_id
    LEFT JOIN visits ON visits.id = pictures.visit_id
    ORDER BY pictures.id
"""


def attach_pictures(
    site_file: SiteFile,
    about: About,
    pictures: Sequence[NewPicture],
    label: str,
    added_at: str | None = None,
) -> None:
    """Keep the bytes of pictures and what they show, as one step of undo.

    added_at: when they were first attached, in UTC; None: now. Undo takes the entries away; the
    bytes stay in the file.
    """
    with one_step(site_file, label):
        for one in pictures:
            _attach(site_file, about, one, added_at or utc_now())


def _attach(site_file: SiteFile, about: About, one: NewPicture, added_at: str) -> None:
    with site_file.writing() as connection:
        digest = keep_bytes(connection, one.content)
    values = about.columns("string_id", "visit_id", "trace_id", "finding_id")
    more = {
        "kind": one.kind,
        "file_name": one.file_name,
        "file_sha256": digest,
        "caption": one.caption or None,
        "taken_at": time_text(one.taken_at),
        "created_at": added_at,
    }
    add_row(site_file, f"Picture {one.file_name}", TABLE, values | more)


def read_pictures(site_file: SiteFile) -> tuple[Picture, ...]:
    """All of them in the order in which they were attached.

    One on a trace that a later import replaced shows the trace that replaced it.
    """
    with site_file.reading() as connection:
        sources = {number: source for source, number in trace_numbers(site_file).items()}
        replaced = dict(
            connection.execute("SELECT id, replaced_by FROM traces WHERE replaced_by NOT NULL")
        )
        rows = connection.execute(_QUERY).fetchall()
    found: list[Picture] = []
    for number, kind, name, digest, caption, taken, added, box, string, trace, visit in rows:
        while trace in replaced:
            trace = replaced[trace]
        place = PicturePlace(box or "", string or "", sources.get(trace, ""), visit or "")
        found.append(
            Picture(number, kind, name, digest, caption or "", place, time_value(taken), added)
        )
    return tuple(found)


def change_picture(site_file: SiteFile, picture: Picture, kind: str, caption: str) -> None:
    """Say otherwise what it shows."""
    values: dict[str, Any] = {"kind": kind, "caption": caption or None}
    change_row(site_file, f"Caption of {picture.file_name}", TABLE, picture.number, values)


def remove_picture(site_file: SiteFile, picture: Picture) -> None:
    """Take the entry away; the bytes stay in the file, so that undo brings it back."""
    remove_row(site_file, f"Remove {picture.file_name}", TABLE, picture.number)
