"""`curvewright picture`: pictures kept with a folder and with a site file."""

import hashlib
from pathlib import Path

import pytest

from tests.app.invented_site import write_site
from tests.app.running import command
from tests.invented_pictures import TAKEN, picture_file
from viewer.state.keeping.picture_store import pictures_at


@pytest.fixture(params=["folder", "site_file"])
def home(request, tmp_path) -> Path:
    folder = write_site(tmp_path / "visits", strings=2, years=(2020, 2025))
    if request.param == "folder":
        return folder
    path = tmp_path / "field.curvewright"
    assert command("import", folder, path, "--quiet") == 0
    return path


def test_pictures_are_kept_listed_and_removed(home, tmp_path, capsys):
    one = picture_file(tmp_path / "hot cell.jpg", taken=TAKEN)
    two = picture_file(tmp_path / "box.png")
    words = ("--string", "CB1/S2", "--kind", "infrared", "--caption", "warm box")
    assert command("picture", home, one, two, *words, "--trace", "2025/CB1/S2.csv") == 0
    digest = hashlib.sha256(one.read_bytes()).hexdigest()
    assert f"Picture 1 stored: hot cell.jpg, SHA-256 {digest}." in capsys.readouterr().out
    kept = pictures_at(home).read()
    assert [pictures_at(home).content(p) for p in kept] == [one.read_bytes(), two.read_bytes()]
    assert {(p.kind, p.caption) for p in kept} == {("infrared", "warm box")}
    place = kept[0].place
    assert (place.combiner, place.string, place.trace) == ("CB1", "S2", "2025/CB1/S2.csv")
    assert kept[0].taken_at is not None
    assert command("picture", home) == 0
    listed = capsys.readouterr().out
    assert "2025-06-05" in listed
    assert "2025/CB1/S2.csv" in listed
    assert command("picture", home, "--remove", 1) == 0
    assert [p.file_name for p in pictures_at(home).read()] == ["box.png"]
    assert command("picture", home, "--remove", 7) == 2
    assert "there is no picture 7" in capsys.readouterr().err


def test_one_bad_file_and_nothing_is_kept(home, tmp_path, capsys):
    good = picture_file(tmp_path / "good.png")
    bad = tmp_path / "bad.png"
    bad.write_text("voltage,current\n")
    assert command("picture", home, good, bad) == 2
    error = capsys.readouterr().err
    assert "bad.png is not a picture that can be read" in error
    assert error.count("\n") == 1
    assert pictures_at(home).read() == ()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--string", "CB9/S1"), "there is no string CB9/S1"),
        (("--trace", "2025/CB9/S1.csv"), "has no trace 2025/CB9/S1.csv"),
        (("gone.png",), "cannot be read"),
    ],
)
def test_what_cannot_be_done_is_one_line(home, tmp_path, capsys, words, said):
    picture = picture_file(tmp_path / "a.png")
    assert command("picture", home, picture, *words) == 2
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1


def test_a_list_that_was_broken_is_told_and_a_changed_file_too(tmp_path, capsys):
    folder = write_site(tmp_path / "visits", strings=1, years=(2020,))
    assert command("picture", folder, picture_file(tmp_path / "a.png")) == 0
    store = pictures_at(folder)
    (kept,) = store.read()
    (folder / "pictures" / kept.kept_name).write_bytes(b"changed")
    with pytest.raises(ValueError, match="was changed since it was attached"):
        store.content(kept)
    (folder / "pictures.toml").write_text('[[picture]]\nname = "a"\nkind = "photograph"\n')
    assert command("picture", folder) == 2
    assert "picture 1: it needs kind, name and sha256" in capsys.readouterr().err
