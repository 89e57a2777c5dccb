"""On a site of one string, traced once, no command and no document speaks of "1 strings"."""

import re
import shutil
from pathlib import Path

import pytest

from tests.app.invented_site import write_site
from tests.reports.written_documents import pdf_text
from viewer.app.command_line import run

ONE_OF_MANY = re.compile(
    r"(?<![\d.,−-])1 (?:[a-z]+ )?[a-z]{2,}s\b|\bthere are 1\b|\b[Nn]one of the 1\b"
)
RIGHT = re.compile(
    r"1 (?:bypass|with findings|[a-z]+ (?:is|has|was|points|stands|this|its|less))\b"
)


def wrong(text: str) -> list[str]:
    found = [one.group() for one in ONE_OF_MANY.finditer(" ".join(text.split()))]
    return [one for one in found if not RIGHT.match(one)]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One combiner with one string of one module, a fifth short of its current."""
    made = write_site(tmp_path_factory.mktemp("one") / "v", strings=1, years=(2020,))
    shutil.rmtree(made / "2020" / "CB2")
    layout = made / "site.toml"
    text = layout.read_text(encoding="utf-8").partition('[[combiner]]\nname = "CB2"')[0]
    text = text.replace("modules_in_series = 20", "modules_in_series = 1")
    place = '[location]\nlatitude = 40.0\nlongitude = -3.0\ntimezone = "UTC"\n[module.A]'
    layout.write_text(text.replace("[module.A]", place, 1), encoding="utf-8")
    trace = made / "2020" / "CB1" / "S1.csv"
    head, _, points = trace.read_text(encoding="utf-8").partition("voltage,current\n")
    rows = [[float(one) for one in line.split(",")] for line in points.splitlines()]
    lines = "".join(f"{volt / 20:.4f},{ampere * 0.8:.5f}\n" for volt, ampere in rows)
    trace.write_text(f"{head}voltage,current\n{lines}", encoding="utf-8")
    return made


def test_what_is_looked_for_is_found() -> None:
    assert wrong("1 strings, 1 combiner; 21 strings; 0.1 volts; 1 more files") == [
        "1 strings",
        "1 more files",
    ]
    assert wrong("a rate needs two visits, there are 1") == ["there are 1"]


@pytest.mark.parametrize(
    "words",
    [
        "analyze V",
        "read V",
        "worst V",
        "mismatch V",
        "trend V",
        "sample V",
        "warranty V",
        "limits V --lowest -10",
        "hours V --from 2025-06-21 --tilt 30 --azimuth 180",
        "expect V CB1 S1 --irradiance 800 --cell-temperature 40 --v-oc 30",
        "sheet V --irradiance 800 --cell-temperature 40",
        "simulate soft_shade --out T/sim --beside 0",
    ],
)
def test_of_commands(words: str, folder: Path, tmp_path: Path, capsys) -> None:
    given = [w.replace("V", str(folder)).replace("T/", f"{tmp_path}/") for w in words.split()]
    assert run(given) in (0, 1, 2)
    told = capsys.readouterr()
    said = (told.out + told.err).replace(str(folder), "V")
    assert len(said) > 20
    assert wrong(said) == []


def test_of_a_site_file_and_of_files_that_are_none(folder: Path, tmp_path: Path, capsys) -> None:
    file, kept, bad = tmp_path / "x.curvewright", tmp_path / "kept", tmp_path / "bad"
    bad.mkdir()
    (bad / "b.csv").write_text("nothing of use", encoding="utf-8")
    for words in (
        ["import", folder, file],
        ["import", folder, file],
        ["site", file, "show"],
        ["site", file, "files", tmp_path / "out"],
        ["read", folder, "--into", kept],
        ["read", folder, "--into", kept],
        ["read", bad],
        ["analyze", bad],
    ):
        run([str(word) for word in words])
    told = capsys.readouterr()
    said = (told.out + told.err).replace(str(tmp_path), "T")
    assert "1 combiner, 1 string." in said
    assert "no file in T/bad could be read as a trace: 1 file tried" in said
    assert wrong(said) == []


@pytest.mark.parametrize("kind", ["troubleshooting", "yearly", "recommendations", "warranty"])
def test_of_documents(kind: str, folder: Path, tmp_path: Path, capsys) -> None:
    made, pack = tmp_path / "d.pdf", tmp_path / "d.zip"
    words = ["report", "--kind", kind, "--out", str(made), "--pack", str(pack), str(folder)]
    assert run(words) == 0
    assert run(["verify", str(pack)]) == 0
    told = capsys.readouterr()
    text = pdf_text(made)
    assert len(text) > 500
    assert wrong(text) + wrong(told.out) + wrong(told.err) == []
