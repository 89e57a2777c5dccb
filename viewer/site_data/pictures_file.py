"""Pictures kept with a visit folder: pictures.toml beside site.toml, the bytes in pictures/.

Nothing in pictures/ is ever deleted, so that undo of a step needs the list alone.
"""

import hashlib
import re
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import tomli_w

from viewer.site_data.pictures import PICTURE_KINDS, Picture, PictureError, PicturePlace
from viewer.site_data.whole_file import read_toml, write_whole

FILE_NAME = "pictures.toml"
FOLDER_NAME = "pictures"
HEAD = "# Pictures of this site's strings; their files lie in the folder pictures.\n\n"
_TEXTS = ("kind", "name", "sha256")
_PLACE = ("combiner", "string", "trace", "visit")
_SHA256 = re.compile(r"[0-9a-f]{64}")


def read_pictures_file(folder: Path) -> tuple[Picture, ...]:
    """All of them in order, numbered from 1; none where there is no list. Raises PictureError."""
    path = folder / FILE_NAME
    if not path.is_file():
        return ()
    table = read_toml(path, PictureError)
    entries = table.get("picture", [])
    if not isinstance(entries, list):
        raise PictureError(f"{FILE_NAME}: write each picture as [[picture]].")
    return tuple(_picture(number, one) for number, one in enumerate(entries, start=1))


def _picture(number: int, entry: Any) -> Picture:
    where = f"{FILE_NAME}, picture {number}"
    if not isinstance(entry, dict) or not all(isinstance(entry.get(k), str) for k in _TEXTS):
        raise PictureError(f"{where}: it needs kind, name and sha256.")
    texts = {key: str(value) for key, value in entry.items()}
    if texts["kind"] not in PICTURE_KINDS:
        raise PictureError(f"{where}: kind must be one of {', '.join(PICTURE_KINDS)}.")
    if not _SHA256.fullmatch(texts["sha256"]):
        raise PictureError(f"{where}: sha256 must be 64 hexadecimal digits.")
    try:
        taken = datetime.fromisoformat(texts["taken_at"]) if "taken_at" in texts else None
    except ValueError:
        raise PictureError(
            f"{where}: taken_at must be a date and time as in ISO 8601, not {texts['taken_at']}."
        ) from None
    place = PicturePlace(**{key: texts.get(key, "") for key in _PLACE})
    return Picture(
        number,
        texts["kind"],
        texts["name"],
        texts["sha256"],
        texts.get("caption", ""),
        place,
        taken,
        texts.get("added_at", ""),
    )


def write_pictures_file(folder: Path, pictures: Sequence[Picture]) -> None:
    """Write the whole list, or take it away when it is empty. Raises OSError."""
    path = folder / FILE_NAME
    if not pictures:
        path.unlink(missing_ok=True)
        return
    write_whole(path, HEAD + tomli_w.dumps({"picture": [_entry(one) for one in pictures]}))


def _entry(one: Picture) -> dict[str, str]:
    taken = one.taken_at.isoformat() if one.taken_at else ""
    entry = {
        "name": one.file_name,
        "kind": one.kind,
        "caption": one.caption,
        **{key: getattr(one.place, key) for key in _PLACE},
        "taken_at": taken,
        "added_at": one.added_at,
        "sha256": one.sha256,
    }
    return {key: value for key, value in entry.items() if value}


def keep_picture_bytes(folder: Path, picture: Picture, content: bytes) -> None:
    """Copy them into the folder's pictures, complete or not at all. Raises OSError."""
    target = folder / FOLDER_NAME / picture.kept_name
    if target.is_file():
        return
    target.parent.mkdir(exist_ok=True)
    write_whole(target, content)


def picture_bytes(folder: Path, picture: Picture) -> bytes:
    """The bytes as they were attached. Raises PictureError."""
    path = folder / FOLDER_NAME / picture.kept_name
    try:
        content = path.read_bytes()
    except OSError as error:
        raise PictureError(
            f"{FOLDER_NAME}/{picture.kept_name} cannot be read: {error.strerror}."
        ) from None
    if hashlib.sha256(content).hexdigest() != picture.sha256:
        raise PictureError(
            f"{FOLDER_NAME}/{picture.kept_name} was changed since it was attached; "
            "attach the picture again."
        )
    return content
