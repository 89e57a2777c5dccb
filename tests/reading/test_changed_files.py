"""Files of every kind, changed at random in the same way each time: traces or sentences, no more.

`python -m tests.benchmarks.fuzz_reading` does the same for as long as one likes.
"""

import random
import struct
import time
import zlib
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.reading.mutations import assert_readable_or_told, mutated, samples
from viewer.reading.condition_log_file import read_condition_log
from viewer.reading.file_reading import read_data
from viewer.reading.notation.limits import SECONDS_LIMIT, UnreadableFileError
from viewer.reading.recipes.recipe import ColumnRef, CurveColumns, Recipe
from viewer.reading.typical_year_file import read_typical_year
from viewer.site_data.site_toml import parse_site_toml

GIVEN = samples()
EACH = 60


@pytest.mark.parametrize("name", GIVEN)
def test_unchanged_it_is_read(name: str) -> None:
    reading = read_data(GIVEN[name], name)
    assert reading.traces
    assert not reading.failures
    assert_readable_or_told(reading, name)


@pytest.mark.parametrize("name", GIVEN)
def test_changed_it_is_read_or_told(name: str) -> None:
    ends = set()
    for number in range(EACH):
        rng = random.Random(f"{name} {number}")
        data = mutated(name, GIVEN[name], rng, list(GIVEN.values()))
        began = time.thread_time()
        reading = read_data(data, name)
        assert time.thread_time() - began < 2 * SECONDS_LIMIT
        assert_readable_or_told(reading, name)
        ends.add(bool(reading.traces))
    assert ends == {True, False}  # the changes are neither too gentle nor too rough


def test_a_workbook_whose_packed_bytes_are_wrong() -> None:
    """The archive's own list is whole, what it leads to does not unpack."""
    data = bytearray(GIVEN["book.xlsx"])
    begin = data.index(b"PK\x03\x04")
    names, extra = struct.unpack_from("<HH", data, begin + 26)
    packed = begin + 30 + names + extra
    data[packed : packed + 8] = b"\xff" * 8
    with pytest.raises(zlib.error):
        zlib.decompress(bytes(data[packed : packed + 64]), -15)
    (failure,) = read_data(bytes(data), "book.xlsx").failures
    assert failure.problem.startswith("book.xlsx is a damaged workbook")


def test_times_beyond_what_nanoseconds_can_count(tmp_path: Path) -> None:
    rows = "".join(f"{year}-05-17 10:0{k}:00;{800 + k}\n" for k, year in enumerate((2024, 6024)))
    (tmp_path / "log.csv").write_text("time;irradiance\n" + rows, encoding="utf-8")
    log = read_condition_log(tmp_path / "log.csv")
    assert log.times[0] == datetime(2024, 5, 17, 10, tzinfo=UTC).timestamp()


def test_a_log_that_begins_with_a_day_that_never_was(tmp_path: Path) -> None:
    rows = "31/02/2024 10:00;800\n" + "31/12/2024 10:01;801\n" * 4
    (tmp_path / "log.csv").write_text("time;irradiance\n" + rows, encoding="utf-8")
    with pytest.raises(UnreadableFileError, match=r"log\.csv.*31/02/2024") as told:
        read_condition_log(tmp_path / "log.csv")
    assert "\n" not in str(told.value)


WEATHER = "LOCATION,Town,A,B,TMY,1,40.0,-100.0,-7.0,1000.0\n" + "TEXT,0\n" * 7
HOUR = "1999,1,1,{hour},60,?9,10.0,1.0,50,99000,0,0,300,{sun},0,0" + ",0" * 19 + "\n"


@pytest.mark.parametrize(
    ("hour", "sun", "zone"),
    [("1", "9" * 400, "-7.0"), ("x", "1", "-7.0"), ("1", "1", "1e999"), ("1", "1", "1e99")],
)
def test_weather_files_with_odd_numbers(tmp_path: Path, hour: str, sun: str, zone: str) -> None:
    text = WEATHER.replace("-7.0", zone) + HOUR.format(hour=hour, sun=sun) * 3
    (tmp_path / "a.epw").write_text(text, encoding="utf-8")
    with pytest.raises(UnreadableFileError, match=r"^a\.epw cannot be read as a EPW") as told:
        read_typical_year(tmp_path / "a.epw")
    assert "\n" not in str(told.value)


def test_a_recipe_of_endless_names_gives_a_short_sentence() -> None:
    ref = ColumnRef("v" * 5000)
    recipe = Recipe(curves=(CurveColumns(ref, ref),))
    for name, data in GIVEN.items():
        assert_readable_or_told(read_data(data, name, recipe), name)


@pytest.mark.parametrize("name", ["a/" * 3000 + "b", "Europe", "../etc/passwd", "a\\u0000b"])
def test_time_zones_that_are_none(name: str) -> None:
    text = f'[location]\nlatitude = 1.0\nlongitude = 2.0\ntimezone = "{name}"\n'
    problems = parse_site_toml(text, "site.toml", "x").problems
    assert any("is not known" in one for one in problems)
    assert max(map(len, problems)) < 300
