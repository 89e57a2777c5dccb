"""What is taken for a picture, what is refused and in which words, and the copies to show."""

import io
import os
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.invented_pictures import TAKEN, picture_bytes, picture_file
from viewer.site_data import pictures
from viewer.site_data.pictures import (
    Picture,
    PictureError,
    looks_like_picture,
    read_picture,
    small_picture,
)


def opened(content: bytes) -> Image.Image:
    return Image.open(io.BytesIO(content))


@pytest.mark.parametrize("name", ["a.png", "a.jpg", "a.tif", "a.bmp", "a.webp"])
def test_pictures_of_all_formats_are_taken_byte_for_byte(tmp_path, name):
    path = picture_file(tmp_path / name)
    assert looks_like_picture(path)
    assert read_picture(path).content == path.read_bytes()
    assert opened(small_picture(path.read_bytes(), 30)).size == (30, 20)


def test_the_cameras_own_date_is_taken(tmp_path):
    path = picture_file(tmp_path / "a.jpg", taken=TAKEN)
    assert read_picture(path).taken_at == datetime(2025, 6, 5, 11, 2, 30)
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = TAKEN
    exif.get_ifd(0x8769)[0x9011] = "+02:00"
    Image.new("RGB", (8, 8)).save(path, exif=exif)
    zone = timezone(timedelta(hours=2))
    assert read_picture(path).taken_at == datetime(2025, 6, 5, 11, 2, 30, tzinfo=zone)


def test_a_broken_date_is_no_date(tmp_path):
    assert read_picture(picture_file(tmp_path / "a.jpg", taken="0000:00:00")).taken_at is None


def test_a_picture_taken_on_its_side_is_shown_upright():
    content = picture_bytes("JPEG", size=(60, 40), orientation=6)
    assert opened(small_picture(content, 60)).size == (40, 60)


def test_what_is_seen_through_lies_on_white():
    clear = picture_bytes("PNG", mode="RGBA", colour=(0, 0, 0, 0))
    assert opened(small_picture(clear, 30)).getextrema() == ((255, 255),) * 3


@pytest.mark.parametrize("kind", [np.uint16, np.float32])
def test_deep_greys_fill_the_range(kind):
    """Cameras for electroluminescence give more than eight bits a pixel."""
    shades = np.linspace(800, 1000, 4096).reshape(64, 64).astype(kind)
    made = io.BytesIO()
    Image.fromarray(shades).save(made, "TIFF")
    low, high = opened(small_picture(made.getvalue(), 64)).convert("L").getextrema()
    assert low < 5
    assert high > 250


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"voltage,current\n0,9\n", "is not a picture that can be read: attach a JPEG"),
        (b"", "is not a picture that can be read"),
        (picture_bytes("JPEG", size=(400, 400))[:900], "is damaged and cannot be shown"),
        (picture_bytes("PNG", size=(400, 400))[:-60], "is damaged and cannot be shown"),
    ],
)
def test_what_is_no_picture_is_one_sentence(tmp_path, content, said):
    path = tmp_path / "x.jpg"
    path.write_bytes(content)
    with pytest.raises(PictureError, match=said) as raised:
        read_picture(path)
    assert str(raised.value).startswith("x.jpg ")
    assert "\n" not in str(raised.value)


def test_what_is_not_there_or_not_ours_to_read_is_one_sentence(tmp_path):
    with pytest.raises(PictureError, match=r"gone.png cannot be read: there is no such file\."):
        read_picture(tmp_path / "gone.png")
    with pytest.raises(PictureError, match="there is no such file"):
        read_picture(tmp_path)
    os.mkfifo(tmp_path / "pipe.png")
    with pytest.raises(PictureError, match="there is no such file"):
        read_picture(tmp_path / "pipe.png")


def test_what_is_too_large_is_one_sentence(tmp_path, monkeypatch):
    path = picture_file(tmp_path / "a.png", size=(300, 300))
    monkeypatch.setattr(pictures, "MOST_PIXELS", 80_000)
    with pytest.raises(PictureError, match=r"a\.png has more than 0 million pixels"):
        read_picture(path)
    monkeypatch.setattr(pictures, "LARGEST_FILE", 2**20)
    path.write_bytes(path.read_bytes() + b"\0" * 3 * 2**20)
    with pytest.raises(PictureError, match=r"a\.png has 3 MiB; a picture may have at most 1 MiB"):
        read_picture(path)


def test_a_picture_that_would_unpack_to_far_more_is_refused(tmp_path):
    """200 million pixels in less than a megabyte; the library itself refuses it, too."""
    path = tmp_path / "a.png"
    Image.new("1", (20_000, 10_000)).save(path)
    assert path.stat().st_size < 10**6
    with pytest.raises(PictureError, match="more than 80 million pixels"):
        read_picture(path)


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("IR 1.jpg", "IR_1.jpg"),
        ("../../up.png", "up.png"),
        ("..\\up.png", "up.png"),
        (".hidden.png", "hidden.png"),
        ("x" * 300 + ".png", "x" * 56 + ".png"),
    ],
)
def test_the_kept_name_leads_nowhere_else(name, kept):
    made = Picture(1, "photograph", name, "a" * 64).kept_name
    assert made == f"{'a' * 12}_{kept}"
    assert Path(made).name == made
