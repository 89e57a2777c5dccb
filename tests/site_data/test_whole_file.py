"""A file is whole or as before; a TOML file that cannot be used is told in one sentence."""

from pathlib import Path

import pytest

from viewer.site_data.whole_file import read_toml, write_whole


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
    with pytest.raises(OSError, match=r"a\.toml\.new"):
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
