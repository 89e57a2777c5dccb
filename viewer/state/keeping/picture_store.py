"""Where pictures are kept: in the site file, or beside a visit folder; both faces use it.

A change of a folder gives the step that takes it back, for the folder's history; a site file has
its own journal.
"""

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

from viewer.physics.nomenclature import counted
from viewer.site_data.pictures import NewPicture, Picture, PictureError, PicturePlace
from viewer.site_data.pictures_file import (
    FILE_NAME,
    keep_picture_bytes,
    picture_bytes,
    read_pictures_file,
    write_pictures_file,
)
from viewer.site_data.site_file.annotations import About, string_id
from viewer.site_data.site_file.baseline import visit_named
from viewer.site_data.site_file.connection import (
    SiteFile,
    looks_like_site_file,
    open_site_file,
)
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.pictures import (
    attach_pictures,
    change_picture,
    read_pictures,
    remove_picture,
)
from viewer.site_data.site_file.plot_marks import trace_numbers
from viewer.site_data.site_file.stored_bytes import read_bytes
from viewer.state.keeping.folder_history import FileStep, content_of


class PictureStore(Protocol):
    """All raise ValueError or OSError with one sentence."""

    def read(self) -> tuple[Picture, ...]: ...

    def content(self, picture: Picture) -> bytes: ...

    def add(self, pictures: Sequence[NewPicture], place: PicturePlace) -> FileStep | None: ...

    def change(self, picture: Picture, kind: str, caption: str) -> FileStep | None: ...

    def remove(self, picture: Picture) -> FileStep | None: ...


def pictures_at(path: Path) -> PictureStore:
    """The store of the folder or site file at a path."""
    if path.is_file() and looks_like_site_file(path):
        return SiteFilePictures(path)
    return FolderPictures(path)


def added_label(pictures: Sequence[NewPicture]) -> str:
    """The step in words, for undo."""
    one = pictures[0].file_name
    return f"Picture {one}" if len(pictures) == 1 else counted(len(pictures), "picture")


class SiteFilePictures:
    """The file is opened for each step: many may share it."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def read(self) -> tuple[Picture, ...]:
        with open_site_file(self._path) as site_file:
            return read_pictures(site_file)

    def content(self, picture: Picture) -> bytes:
        with open_site_file(self._path) as site_file:
            return read_bytes(site_file, picture.sha256)

    def add(self, pictures: Sequence[NewPicture], place: PicturePlace) -> None:
        with open_site_file(self._path) as site_file:
            attach_pictures(site_file, about(site_file, place), pictures, added_label(pictures))

    def change(self, picture: Picture, kind: str, caption: str) -> None:
        with open_site_file(self._path) as site_file:
            change_picture(site_file, picture, kind, caption)

    def remove(self, picture: Picture) -> None:
        with open_site_file(self._path) as site_file:
            remove_picture(site_file, picture)


def about(site_file: SiteFile, place: PicturePlace) -> About:
    """The ids of a place. Raises SiteFileError for a name that the file does not know."""
    named = place.combiner or place.string
    trace = trace_numbers(site_file).get(place.trace)
    if place.trace and trace is None:
        raise SiteFileError(f"{site_file.path.name}: it has no trace {place.trace}.")
    return About(
        string_id=string_id(site_file, place.combiner, place.string) if named else None,
        visit_id=visit_named(site_file, place.visit).id if place.visit else None,
        trace_id=trace,
    )


class FolderPictures:
    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def read(self) -> tuple[Picture, ...]:
        return read_pictures_file(self._folder)

    def content(self, picture: Picture) -> bytes:
        return picture_bytes(self._folder, picture)

    def add(self, pictures: Sequence[NewPicture], place: PicturePlace) -> FileStep | None:
        known = self.read()
        added_at = datetime.now(UTC).replace(microsecond=0).isoformat()
        new: list[Picture] = []
        for number, one in enumerate(pictures, start=len(known) + 1):
            digest = hashlib.sha256(one.content).hexdigest()
            made = Picture(
                number,
                one.kind,
                one.file_name,
                digest,
                one.caption,
                place,
                one.taken_at,
                added_at,
            )
            keep_picture_bytes(self._folder, made, one.content)
            new.append(made)
        return self._step(added_label(pictures), lambda: (*known, *new))

    def change(self, picture: Picture, kind: str, caption: str) -> FileStep | None:
        changed = replace(picture, kind=kind, caption=caption)
        return self._step(
            f"Caption of {picture.file_name}",
            lambda: tuple(changed if one == picture else one for one in self._with(picture)),
        )

    def remove(self, picture: Picture) -> FileStep | None:
        return self._step(
            f"Remove {picture.file_name}",
            lambda: tuple(one for one in self._with(picture) if one != picture),
        )

    def _with(self, picture: Picture) -> tuple[Picture, ...]:
        """The list as it is now, if the picture is in it as it was known. Raises PictureError."""
        now = self.read()
        if picture not in now:
            raise PictureError(
                f"{FILE_NAME} has been changed since, perhaps in another window: "
                f"{picture.file_name} was left as it is."
            )
        return now

    def _step(self, label: str, made: Callable[[], tuple[Picture, ...]]) -> FileStep | None:
        file = self._folder / FILE_NAME
        pictures = made()
        before = content_of(file)
        write_pictures_file(self._folder, pictures)
        after = content_of(file)
        return None if before == after else FileStep(label, file, before, after)
