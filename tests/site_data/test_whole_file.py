"""A file is whole or as before; a TOML file that cannot be used is told in one sentence."""

from pathlib import Path

import pytest

from viewer.site_data.whole_file import UnwrittenError, drafted, read_toml, write_whole


class OurError(ValueError):
    pass


def test_text_and_bytes_come_back_and_no_draft_is_left(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    write_whole(path, 'name = "Größe"\n')
    assert read_toml(path) == {"name": "Größe"}
    write_whole(path, b"name = 1\r\n")
    assert path.read_bytes() == b"name = 1\r\n"
    assert [one.name for one in tmp_path.iterdir()] == ["a.toml"]


def test_what_was_there_stays_when_the_new_one_cannot_be_written(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    write_whole(path, "kept = true\n")
    (tmp_path / "a.toml.new").mkdir()
    with pytest.raises(OSError, match=r"a\.toml could not be written"):
        write_whole(path, "kept = false\n")
    assert read_toml(path) == {"kept": True}


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"a = ", "is not valid TOML"),
        (b'a = "\xff"', "is not valid TOML"),
        (b"a = " + 5000 * b"[", "nests tables too deeply|is not valid TOML"),
    ],
)
def test_a_bad_file_gets_one_sentence(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes(content)
    with pytest.raises(OurError, match=said) as told:
        read_toml(path, OurError)
    assert "\n" not in str(told.value)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(OurError, match="cannot be read: No such file"):
        read_toml(tmp_path / "a.toml", OurError)


def test_a_draft_that_is_given_up_leaves_no_trace(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("kept")
    with pytest.raises(ZeroDivisionError), drafted(path) as draft:
        _half_written(draft)
    assert path.read_text() == "kept"
    assert [one.name for one in tmp_path.iterdir()] == ["a.csv"]


def test_what_cannot_be_written_is_told_in_one_sentence(tmp_path: Path) -> None:
    path = tmp_path / "nowhere" / "a.csv"
    with pytest.raises(UnwrittenError) as told:
        write_whole(path, "x")
    assert str(told.value) == f"{path} could not be written: there is no folder {path.parent}."
    with pytest.raises(UnwrittenError) as told, drafted(tmp_path / "a.csv"):
        raise OSError(28, "No space left on device")
    assert str(told.value) == f"{tmp_path / 'a.csv'} could not be written: No space left on device."


def test_a_file_that_cannot_be_read_is_not_told_as_one_that_could_not_be_written(
    tmp_path: Path,
) -> None:
    with pytest.raises(FileNotFoundError, match="other"), drafted(tmp_path / "a.csv"):
        (tmp_path / "other").read_bytes()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_a_device_is_written_in_place() -> None:
    with pytest.raises(UnwrittenError, match="No space left on device"):
        write_whole(Path("/dev/full"), "x")
    assert not Path("/dev/full.new").exists()


def _half_written(draft: Path) -> None:
    draft.write_text("half")
    raise ZeroDivisionError
