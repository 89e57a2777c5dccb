"""Pictures of a fault: what is known of one, whether a file is one, and smaller copies to show.

A picture is kept byte for byte as it came from the camera; what is shown and printed is made anew
from those bytes, upright and in eight bits a colour.
"""

import io
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from PIL.Image import Image

PICTURE_KINDS: tuple[str, ...] = ("photograph", "infrared", "electroluminescence")
SUFFIXES: tuple[str, ...] = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".bmp", ".webp")
FORMATS: tuple[str, ...] = ("JPEG", "PNG", "TIFF", "BMP", "WEBP")
"""As the library names them."""
LARGEST_FILE = 40 * 2**20
"""Bytes: cameras' own files are smaller, and each is kept whole with the site."""
MOST_PIXELS = 80_000_000
_EXIF, _TAKEN, _OFFSET = 0x8769, 0x9003, 0x9011
"""Tags of Exif: its own directory, DateTimeOriginal, OffsetTimeOriginal (CIPA DC-008)."""
_PLAIN = re.compile(r"[^\w.+-]+")
LONGEST_NAME = 60


class PictureError(ValueError):
    """A file that cannot be kept or shown as a picture; the message is one sentence."""


@dataclass(frozen=True)
class PicturePlace:
    """What a picture shows, by names; all empty: the whole site."""

    combiner: str = ""
    string: str = ""
    trace: str = ""
    """Source of the trace that it was attached to."""
    visit: str = ""


@dataclass(frozen=True)
class NewPicture:
    """A picture that was read and found good; `taken_at` as its Exif says."""

    file_name: str
    content: bytes
    taken_at: datetime | None = None
    kind: str = PICTURE_KINDS[0]
    caption: str = ""


@dataclass(frozen=True)
class Picture:
    """One that is kept with the site; `sha256` is of its bytes, `added_at` in UTC."""

    number: int
    kind: str
    file_name: str
    sha256: str
    caption: str = ""
    place: PicturePlace = PicturePlace()
    taken_at: datetime | None = None
    added_at: str = ""

    @property
    def day(self) -> str:
        """Of the picture where the camera told it, else of its being attached."""
        return self.taken_at.date().isoformat() if self.taken_at else self.added_at[:10]

    @property
    def kept_name(self) -> str:
        """The name of its file in a folder: no two pictures share one, none leads elsewhere."""
        name = _PLAIN.sub("_", self.file_name.replace("\\", "/").rpartition("/")[2])
        return f"{self.sha256[:12]}_{name[-LONGEST_NAME:].lstrip('.')}"


def looks_like_picture(path: Path) -> bool:
    """By its name alone."""
    return path.suffix.lower() in SUFFIXES


def read_picture(path: Path) -> NewPicture:
    """Read and check a file. Raises PictureError."""
    if not path.is_file():
        raise PictureError(f"{path.name} cannot be read: there is no such file.")
    try:
        with path.open("rb") as stream:
            content = stream.read(LARGEST_FILE + 1)
    except OSError as error:
        raise PictureError(f"{path.name} cannot be read: {error.strerror}.") from None
    if len(content) > LARGEST_FILE:
        size = path.stat().st_size / 2**20
        raise PictureError(
            f"{path.name} has {size:.0f} MiB; a picture may have at most "
            f"{LARGEST_FILE // 2**20} MiB: save it smaller and attach that."
        )
    image = _opened(content, path.name)
    _loaded(image, path.name)
    return NewPicture(path.name, content, _taken_at(image))


def small_picture(content: bytes, longest: int, name: str = "the picture") -> bytes:
    """A JPEG of it, upright, no side longer than that many pixels. Raises PictureError."""
    from PIL import ImageOps

    image = _opened(content, name)
    image.draft("RGB", (longest, longest))
    _loaded(image, name)
    upright = ImageOps.exif_transpose(image)
    upright.thumbnail((longest, longest))
    made = io.BytesIO()
    _in_colours(upright).save(made, "JPEG", quality=85)
    return made.getvalue()


def _opened(content: bytes, name: str) -> "Image":
    from PIL import Image, UnidentifiedImageError

    try:
        image = Image.open(io.BytesIO(content), formats=FORMATS)
    except Image.DecompressionBombError:
        raise _too_many_pixels(name) from None
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError):
        raise PictureError(
            f"{name} is not a picture that can be read: attach a JPEG, PNG, TIFF, BMP or WebP file."
        ) from None
    if image.width * image.height > MOST_PIXELS:
        raise _too_many_pixels(name)
    return image


def _too_many_pixels(name: str) -> PictureError:
    return PictureError(
        f"{name} has more than {MOST_PIXELS // 10**6} million pixels: save it smaller and attach "
        "that."
    )


def _loaded(image: "Image", name: str) -> None:
    """Decode it. Damage shows itself only now, in as many kinds as there are decoders."""
    try:
        image.load()
    except Exception as problem:  # noqa: BLE001 (each decoder raises its own)
        raise PictureError(
            f"{name} is damaged and cannot be shown ({problem}): copy it from the camera again."
        ) from None


def _taken_at(image: "Image") -> datetime | None:
    try:
        exif = image.getexif().get_ifd(_EXIF)
        taken = datetime.strptime(str(exif[_TAKEN]).strip("\0 "), "%Y:%m:%d %H:%M:%S")
    except Exception:  # noqa: BLE001 (Exif of cameras is often broken; a date is no must)
        return None
    try:
        offset = datetime.strptime(str(exif[_OFFSET]).strip("\0 "), "%z")
    except (KeyError, ValueError):
        return taken
    return taken.replace(tzinfo=offset.tzinfo)


def _in_colours(image: "Image") -> "Image":
    """In eight bits a colour; what is seen through lies on white, deep greys fill the range."""
    from PIL import Image

    if image.mode.startswith(("I", "F")):
        deep = np.asarray(image, dtype=float)
        known = deep[np.isfinite(deep)]
        low, high = (known.min(), known.max()) if known.size else (0.0, 1.0)
        shade = (np.clip(np.nan_to_num(deep), low, high) - low) / ((high - low) or 1.0)
        return Image.fromarray((255 * shade).astype(np.uint8)).convert("RGB")
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        above = image.convert("RGBA")
        white = Image.new("RGBA", above.size, "white")
        return Image.alpha_composite(white, above).convert("RGB")
    return image.convert("RGB")
