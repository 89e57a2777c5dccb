"""Files that commands write are whole or as they were; one sentence says why."""

from pathlib import Path

import pytest

from tests.app.invented_site import write_site
from tests.app.running import command

SUN = ("--irradiance", 800, "--module-temperature", 45)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_site(tmp_path_factory.mktemp("site") / "visits", strings=2, years=(2020, 2025))


WRITES = [
    ("report", "--kind", "yearly", "--quiet", "--out", "x.pdf"),
    ("report", "--kind", "yearly", "--quiet", "--out", "x.xlsx"),
    ("report", "--kind", "yearly", "--quiet", "--pack", "x.zip"),
    ("read", "--quiet", "--points", "x.csv"),
    ("read", "--quiet", "--points", "x.xlsx"),
    ("read", "--quiet", "--points", "x.parquet"),
    ("sheet", *SUN, "--pdf", "x.pdf"),
    ("sheet", *SUN, "--csv", "x.csv"),
    ("analyze", "--quiet", "--json", "x.json"),
    ("trend", "--quiet", "--json", "x.json"),
]


@pytest.mark.parametrize("words", WRITES, ids=lambda words: f"{words[0]} {words[-1]}")
def test_a_file_whose_place_is_taken_by_a_folder_is_told_and_nothing_is_left(
    folder, tmp_path, capfd, words
):
    name, *options, file = words
    path = tmp_path / file
    path.mkdir()
    assert command(name, folder, *options, path) == 2
    (line,) = [one for one in capfd.readouterr().err.splitlines() if "left out" not in one]
    assert line == f"curvewright {name}: {path} could not be written: Is a directory."
    assert [one.name for one in tmp_path.iterdir()] == [file]


@pytest.mark.parametrize("words", WRITES, ids=lambda words: f"{words[0]} {words[-1]}")
def test_a_folder_that_is_not_there_is_named(folder, tmp_path, capfd, words):
    name, *options, file = words
    path = tmp_path / "nowhere" / file
    assert command(name, folder, *options, path) == 2
    said = capfd.readouterr().err
    assert f"{path} could not be written: there is no folder {path.parent}." in said
    assert "Traceback" not in said
