"""No bytes crash the reader, hang it, make it compute a formula or fill the memory."""

import io
import os
import time
import zipfile

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from viewer.reading.file_reading import FileReading, read_data, read_file
from viewer.reading.notation.limits import SECONDS_LIMIT, SIZE_LIMIT
from viewer.reading.recipes.path_fields import compiled
from viewer.reading.recipes.recipe import RecipeError
from viewer.reading.recipes.recipe_file import parse_recipe
from viewer.site_data.site_toml import parse_site_toml

BUDGET = settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
PIECES = (
    *("V", "I", "U", "voltage", "current", "Voltage(V)", "[mA]", "string", "date", "irradiance"),
    *("1", "2", "3.5", "-4", "1,5", "1.234,5", "1e5", "nan", "0", "700", "9", "2024-05-17"),
    *("#", ":", "=", ";", ",", "|", "\t", "\n", "\r\n", '"', "'", "(", ")", "{", "}", "[", "]"),
    *("10:15:00", "W/m²", "°C", "é", "\x00", "\ufeff", " "),
)
WORDS = st.sampled_from(PIECES)


def check(reading: FileReading) -> None:
    """Traces of finite numbers, or one-line sentences that name the file."""
    assert reading.traces or reading.failures
    for failure in reading.failures:
        assert "\n" not in failure.problem
        assert "a.csv" in failure.problem
        assert len(failure.problem) < 600
    for trace in reading.traces:
        assert trace.voltage.shape == trace.current.shape
        assert trace.voltage.size >= 5


@BUDGET
@given(st.binary(max_size=3000))
def test_any_bytes(data):
    check(read_data(data, "a.csv"))


@BUDGET
@given(st.text(max_size=2000))
def test_any_text(text):
    check(read_data(text.encode("utf-8", "surrogatepass"), "a.csv"))


@BUDGET
@given(st.lists(WORDS, max_size=400))
def test_any_mixture_of_what_trace_files_are_made_of(words):
    check(read_data("".join(words).encode(), "a.csv"))


@BUDGET
@given(
    st.lists(st.lists(st.floats(allow_nan=True), min_size=2, max_size=4), min_size=1, max_size=60),
    st.sampled_from(",;|\t "),
    st.sampled_from(["", "V{0}I{0}P{0}t\n", "x{0}y\n"]),
)
def test_any_table_of_numbers(rows, delimiter, heading):
    body = "\n".join(delimiter.join(map(repr, row)) for row in rows)
    check(read_data((heading.format(delimiter) + body).encode(), "a.csv"))


@BUDGET
@given(st.binary(max_size=600))
def test_any_bytes_behind_the_marks_of_workbooks_and_parquet(data):
    check(read_data(b"PK\x03\x04" + data, "a.csv"))
    check(read_data(b"PAR1" + data + b"PAR1", "a.csv"))


@BUDGET
@given(st.lists(st.one_of(WORDS, st.just("[module.A]"), st.just("[[combiner]]")), max_size=60))
def test_any_site_toml_and_recipe(words):
    text = "".join(words)
    for problem in parse_site_toml(text, "site.toml", "x").problems:
        assert problem.startswith("site.toml")
    assert all(line.startswith("r.toml") for line in recipe_problems(text))


def recipe_problems(text: str) -> list[str]:
    try:
        parse_recipe(text, "r.toml")
    except RecipeError as error:
        return str(error).split("\n")
    return []


MILLION = 1_000_000
LARGE = {
    "one byte": b"1" * MILLION,
    "commas": b"," * MILLION,
    "quotes": b'"' * MILLION,
    "open quotes": b'"1,2\n' * (MILLION // 5),
    "line ends": b"\n" * MILLION,
    "number pairs": b"1,2\n" * (MILLION // 4),
    "one line of numbers": b"1 2 " * (MILLION // 4),
    "brackets": b"[" * MILLION,
    "braces": b'{"a":' * (MILLION // 5),
    "keys": b"# a: b\n" * (MILLION // 7),
    "key pairs": b"a: 1; b: 2; " * (MILLION // 12),
    "groups of thousands": b"1,234,567;1,234\n" * (MILLION // 16),
    "many tables": b"V,I\n0,9\n1,8\n2,7\n3,6\n4,0\n" * (MILLION // 24),
    "many traces": b"string,voltage,current\n"
    + b"".join(b"S%d,%d,%d\n" % (k // 5, k % 5, 9 - k % 5) for k in range(80_000)),
    "dates": b"2024-05-17 10:00:00;1;2\n" * (MILLION // 24),
    "opening brackets": b"V (" * (MILLION // 3) + b"\n1,2\n" * 9,
    "UTF-16": ("V,I\n" + "1,2\n" * (MILLION // 8)).encode("utf-16"),
}


@pytest.mark.parametrize("name", LARGE)
def test_a_million_bytes_of_anything_end_soon(name):
    begun = time.thread_time()
    reading = read_data(LARGE[name], "a.csv")
    assert time.thread_time() - begun < 2 * SECONDS_LIMIT
    check(reading)


def test_a_file_beyond_the_limits_is_refused_in_words():
    assert "bytes; more than" in read_data(bytes(SIZE_LIMIT + 1), "a.csv").failures[0].problem
    rows = read_data(b"1,2\n" * 400_000, "a.csv")
    assert "more than 300,000 rows" in rows.failures[0].problem
    columns = read_data(b"1;2;" * 3_000 + b"\n", "a.csv")
    assert "line 1: more than 2,000 columns" in columns.failures[0].problem


def workbook(rows: list[list[object]]) -> bytes:
    book = Workbook()
    for row in rows:
        book.active.append(row)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


GOOD = workbook([["V", "I"], *([k * 10, 9 - k * 0.1] for k in range(50))])
SHEET = "xl/worksheets/sheet1.xml"


def with_sheet(old: bytes, new: bytes) -> bytes:
    stream = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(GOOD)) as before,
        zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as after,
    ):
        for name in before.namelist():
            part = before.read(name)
            after.writestr(name, part.replace(old, new, 1) if name == SHEET else part)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (with_sheet(b"<sheetData>", b"<sheetData>" + b" " * 90_000_000), "would unpack to"),
        (with_sheet(b"<worksheet", b"<!DOCTYPE a><worksheet"), "declares its own markup"),
        (
            with_sheet(b"</sheetData>", b'<row r="1048576"><c r="XFD1048576"/></row></sheetData>'),
            "longer than 2 s",
        ),
        (GOOD[: len(GOOD) // 2], "damaged workbook"),
        (workbook([["V", "I"], *(["=1+1", "=2+2"] for _ in range(9))]), "formulas without"),
    ],
)
def test_workbooks_that_are_traps_are_refused(data, says):
    (failure,) = read_data(data, "a.csv").failures
    assert says in failure.problem


def test_a_sheet_that_lies_about_its_size_is_read():
    lying = with_sheet(b'ref="A1:B51"', b'ref="A1:XFD1048576"')
    assert lying != GOOD
    assert read_data(lying, "a.xlsx").traces[0].voltage.size == 50


@pytest.mark.parametrize("pattern", ["(?P<string>(a+)+)$", "(?P<string>(a*b?)*)c", "(?P<a>x)", "("])
def test_path_patterns_that_could_hang_are_refused(pattern):
    with pytest.raises(RecipeError):
        compiled(pattern)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_among_the_files_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "a.csv")
    reading = read_file(tmp_path / "a.csv", "a.csv")
    check(reading)
    assert "not an ordinary file" in reading.failures[0].problem
