"""Pictures kept with a site as documents print them, and as an evidence pack holds them."""

import csv
import io
from collections.abc import Iterator, Sequence

from viewer.reports.document.content import PrintedPicture
from viewer.reports.document.picture_pages import SortedPictures, printed_picture
from viewer.reports.evidence_pack import PackFile
from viewer.site_data.cell_text import plain_cell
from viewer.site_data.pictures import Picture, small_picture
from viewer.state.keeping.picture_store import PictureStore

LONGEST = 1020
"""Pixels of a printed picture's longer side: 300 an inch where it is printed largest."""
IN_PACK = "pictures/"
HEADINGS = (
    "file",
    "sha256",
    "name",
    "kind",
    "combiner",
    "string",
    "trace",
    "visit",
    "caption",
    "taken_at",
    "added_at",
)


class PrintedPictures:
    """Those of one store; each is read and made smaller when its page is laid out."""

    def __init__(self, store: PictureStore, language: str) -> None:
        self._store = store
        self._language = language

    def of(self, pictures: Sequence[Picture]) -> tuple[PrintedPicture, ...]:
        return tuple(printed_picture(one, self._load, self._language) for one in pictures)

    def by_trace(self, found: SortedPictures) -> dict[str, tuple[PrintedPicture, ...]]:
        return {source: self.of(ones) for source, ones in found.by_trace.items()}

    def _load(self, picture: Picture) -> bytes:
        return small_picture(self._store.content(picture), LONGEST, picture.file_name)


def packed_pictures(store: PictureStore) -> Iterator[PackFile]:
    """Every picture byte for byte, and a table of what each shows. Raises ValueError, OSError."""
    pictures = store.read()
    if not pictures:
        return
    table = io.StringIO(newline="")
    writer = csv.writer(table)
    writer.writerow(HEADINGS)
    packed: set[str] = set()
    for one in pictures:
        name = IN_PACK + one.kept_name
        writer.writerow(_row(one, name))
        if name not in packed:
            packed.add(name)
            yield PackFile(name, store.content(one))
    yield PackFile("pictures.csv", table.getvalue().encode())


def _row(one: Picture, name: str) -> list[str]:
    place = one.place
    taken = one.taken_at.isoformat() if one.taken_at else ""
    said = (one.file_name, one.kind, place.combiner, place.string, place.trace, place.visit)
    cells = (name, one.sha256, *said, one.caption, taken, one.added_at)
    return [plain_cell(cell) for cell in cells]
