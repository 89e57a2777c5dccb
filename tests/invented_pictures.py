"""Invented pictures of any format, for tests of what keeps and shows them."""

import io
from pathlib import Path

from PIL import Image

TAKEN = "2025:06:05 11:02:30"


def picture_bytes(
    form: str = "PNG",
    size: tuple[int, int] = (60, 40),
    colour: str | tuple[int, ...] = "orange",
    mode: str = "RGB",
    taken: str = "",
    orientation: int = 1,
) -> bytes:
    """One colour all over; `orientation` as Exif counts it."""
    image = Image.new(mode, size, colour)
    exif = Image.Exif()
    if orientation != 1:
        exif[0x0112] = orientation
    if taken:
        exif.get_ifd(0x8769)[0x9003] = taken
    made = io.BytesIO()
    image.save(made, form, exif=exif)
    return made.getvalue()


def picture_file(path: Path, **words: object) -> Path:
    """A picture in the format that the file's ending names."""
    form = {".jpg": "JPEG", ".tif": "TIFF"}.get(path.suffix, path.suffix[1:].upper())
    path.write_bytes(picture_bytes(form, **words))  # type: ignore[arg-type]
    return path
