"""Reading a visit folder: the plain format, and one sentence for everything that is wrong."""

import hashlib
import os
import re
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest

from viewer.reading.visits.visit_folder import (
    FolderError,
    VisitFolder,
    open_visit_folder,
    read_source,
)
from viewer.site_data.iv_trace import Trace, Unreadable

HEAD = """\
# combiner: C1
# string: S7
# measured_at: 2024-05-17T10:15:00+01:00
# poa_global: 812.4
# temperature_module: 48.2 °C
# serial: 0042
# note: dust: much
"""
POINTS = "0,9\n400,8.5\n600,7\n650,5\n700,0\n"


def folder_with(path, **files: str | bytes) -> VisitFolder:
    for name, content in files.items():
        file = path / name.replace("__", "/").replace("_csv", ".csv")
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content.encode() if isinstance(content, str) else content)
    return open_visit_folder(path)


def read_trace(folder: VisitFolder, source: str) -> Trace | Unreadable:
    (found,) = read_source(folder, source)
    return found


def read_one(path, content: str | bytes) -> Trace | Unreadable:
    return read_trace(folder_with(path, a_csv=content), "a.csv")


def test_everything_in_the_file_arrives(tmp_path):
    content = HEAD + "voltage,current\n" + POINTS
    trace = read_one(tmp_path, content)
    assert isinstance(trace, Trace)
    np.testing.assert_array_equal(trace.voltage, [0, 400, 600, 650, 700])
    np.testing.assert_array_equal(trace.current, [9, 8.5, 7, 5, 0])
    assert (trace.combiner, trace.string) == ("C1", "S7")
    assert trace.measured_at == datetime(2024, 5, 17, 10, 15, tzinfo=timezone(timedelta(hours=1)))
    assert trace.conditions.poa_global == 812.4
    assert trace.conditions.temperature_module == 48.2
    assert trace.conditions.temperature_cell is None
    assert (trace.serial, trace.note) == ("0042", "dust: much")
    assert trace.sha256 == hashlib.sha256(content.encode()).hexdigest()
    assert trace.remarks == ()


@pytest.mark.parametrize(
    "content",
    [
        "current,voltage\n9,0\n8.5,400\n7,600\n5,650\n0,700",
        "Voltage,Current,remark\n0,9,a\n400,8.5,b\n600,7,\n650,5,c\n700,0,d\n",
        "\ufeffvoltage,current\r\n0,9\r\n400,8.5\r\n600,7\r\n650,5\r\n700,0\r\n\r\n",
        '"voltage","current"\n 0 , 9\n400,8.5\n600,7\n650,5\n700,0\n\n\n',
    ],
)
def test_column_order_line_ends_and_extra_columns_do_not_matter(tmp_path, content):
    trace = read_one(tmp_path, content)
    assert isinstance(trace, Trace)
    np.testing.assert_array_equal(trace.voltage, [0, 400, 600, 650, 700])
    np.testing.assert_array_equal(trace.current, [9, 8.5, 7, 5, 0])


def test_gaps_and_trailing_text_are_left_out_with_a_remark(tmp_path):
    trace = read_one(tmp_path, "voltage,current\n" + POINTS + "710,\nend of sweep\n")
    assert isinstance(trace, Trace)
    assert trace.voltage.size == 5
    assert trace.remarks == (
        "Points without a number were left out: line 7.",
        "Text after the points was left out, from line 8.",
    )


@pytest.mark.parametrize(
    ("content", "line", "says"),
    [
        ("", None, "is empty"),
        ("\n \n", None, "is empty"),
        ("# combiner: C1\n", 2, "ends before"),
        ("voltage,current\n1,2\n", None, "holds one point"),
        ("voltage,current\n", None, "holds no points"),
        ("voltage,current\n" + "5,1\n" * 6, None, "the same voltage"),
        (HEAD + "voltage,current\n0,9\n400,abc\n" + POINTS, 10, "the current is 'abc'"),
        (HEAD + "voltage,current\n0,9\n4x,3\n" + POINTS, 10, "the voltage is '4x'"),
        ("voltage,current\n0,9\nbroken\n" + POINTS, 3, "'broken' stands among the points"),
        ("voltage,current\n0,9\n1\n" + POINTS, 3, "the current is missing"),
        ("voltage,current\n0,1_000\n" + POINTS, 2, "the current is '1_000'"),
    ],
)
def test_each_wrong_file_is_one_sentence(tmp_path, content, line, says):
    found = read_one(tmp_path, content)
    assert isinstance(found, Unreadable)
    assert says in found.problem
    assert found.problem.startswith(f"a.csv, line {line}:" if line else "a.csv ")
    assert found.problem.count("\n") == 0


def test_a_condition_that_cannot_be_right_is_left_out_not_invented(tmp_path):
    trace = read_one(
        tmp_path,
        "# poa_global: high\n# temperature_module: 300 V\n# measured_at: noon\n"
        "voltage,current\n" + POINTS,
    )
    assert isinstance(trace, Trace)
    assert trace.conditions.poa_global is None
    assert trace.conditions.temperature_module is None
    assert trace.measured_at is None
    assert [remark.split(":")[0] for remark in trace.remarks] == ["Line 1", "Line 2", "Line 3"]


@pytest.mark.parametrize(
    ("said", "value", "remark"),
    [
        ("poa_global: 887 W/m2", 887.0, None),
        ("poa_global: 0.887 kW/m²", 887.0, "Line 1: poa_global was converted from kW/m²."),
        ("poa_global: 88.7 mW/cm2", 887.0, "Line 1: poa_global was converted from mW/cm²."),
        ("temperature_module: 122 °F", 50.0, "Line 1: temperature_module was converted from °F."),
        ("temperature_module: 50 degC", 50.0, None),
        ("wind_speed: 36 km/h", 10.0, "Line 1: wind_speed was converted from km/h."),
    ],
)
def test_a_condition_in_another_unit_is_converted_and_said_so(tmp_path, said, value, remark):
    trace = read_one(tmp_path, f"# {said}\nvoltage,current\n{POINTS}")
    assert isinstance(trace, Trace)
    name = said.partition(":")[0]
    assert getattr(trace.conditions, name) == pytest.approx(value)
    assert trace.remarks == (() if remark is None else (remark,))


FULL = "".join(f"{40 * k}.00,{9.5 - 0.1 * k:.3f}\n" for k in range(12))


@pytest.mark.parametrize(
    ("end", "cut"),
    [
        ("480.00,8.2", "480.00,8.2"),
        ("480.00,8", "480.00,8"),
        ("480.00,", "480.00,"),
        ("480.0", "480.0"),
        ("4", "4"),
        ("480.00,8.300", None),
        ("480.00,8.300\n", None),
        ("480.00,8\n", None),
        ("", None),
    ],
)
def test_a_last_line_that_is_cut_off_is_no_point(tmp_path, end, cut):
    trace = read_one(tmp_path, "voltage,current\n" + FULL + end)
    assert isinstance(trace, Trace)
    told = [one for one in trace.remarks if "cut off" in one]
    assert len(told) == (cut is not None)
    assert trace.voltage.size == 12 + (cut is None and bool(end))
    if cut is not None:
        assert f"'{cut}'" in told[0]


@pytest.mark.parametrize(("mark", "point"), [(";", ","), ("\t", "."), (" ", ".")])
@pytest.mark.parametrize("end", ["480.00,8", "480.0", "480.00,8.300"])
def test_a_last_line_is_cut_off_in_other_layouts_too(tmp_path, mark, point, end):
    text = ("Voltage,Current\n" + FULL + end).replace(",", "|").replace(".", point)
    trace = read_one(tmp_path, text.replace("|", mark))
    assert isinstance(trace, Trace)
    assert trace.voltage.size == 12 + end.endswith("300")
    assert any("cut off" in one for one in trace.remarks) != end.endswith("300")


def test_numbers_of_any_length_end_as_they_like(tmp_path):
    lines = "0,9.5\n100.25,9.4\n200.5,9.3\n300,9.1\n400.125,8.8\n480,8"
    trace = read_one(tmp_path, "voltage,current\n" + lines)
    assert isinstance(trace, Trace)
    assert trace.voltage.size == 6


def test_names_come_from_folder_and_file_when_the_file_does_not_say(tmp_path):
    plain = "voltage,current\n" + POINTS
    folder = folder_with(tmp_path, C2__S10_csv=plain, C2__S2_csv=plain, top_csv=plain)
    assert folder.sources == ("C2/S2.csv", "C2/S10.csv", "top.csv")
    inner, top = read_trace(folder, "C2/S10.csv"), read_trace(folder, "top.csv")
    assert isinstance(inner, Trace)
    assert isinstance(top, Trace)
    assert (inner.combiner, inner.string) == ("C2", "S10")
    assert (top.combiner, top.string) == (None, "top")


def test_time_comes_from_the_file_name_with_a_remark(tmp_path):
    folder = folder_with(tmp_path, **{"series_2013-12-29T101000_csv": "voltage,current\n" + POINTS})
    trace = read_trace(folder, folder.sources[0])
    assert isinstance(trace, Trace)
    assert trace.measured_at == datetime(2013, 12, 29, 10, 10)
    assert trace.remarks == ("The time was taken from the file name.",)


def test_a_folder_without_site_toml_still_opens_and_says_so(tmp_path):
    folder = folder_with(tmp_path, a_csv="voltage,current\n" + POINTS)
    assert len(folder.problems) == 1
    assert "has no site.toml" in folder.problems[0]
    assert folder.layout.name == tmp_path.name


def test_a_wrong_site_toml_leaves_the_traces_readable(tmp_path):
    (tmp_path / "site.toml").write_text("name = \n")
    folder = folder_with(tmp_path, a_csv="voltage,current\n" + POINTS)
    assert folder.problems == ("site.toml, line 1: not valid TOML, invalid value; mend that line.",)
    assert isinstance(read_trace(folder, "a.csv"), Trace)


def test_what_is_no_visit_folder_is_refused_in_words(tmp_path):
    with pytest.raises(FolderError, match="no trace files"):
        open_visit_folder(tmp_path)
    with pytest.raises(FolderError, match="There is no folder"):
        open_visit_folder(tmp_path / "nowhere")
    file = tmp_path / "a.csv"
    file.write_text("x")
    with pytest.raises(FolderError, match="is a file"):
        open_visit_folder(file)


def test_folders_that_cannot_be_looked_into_are_named(tmp_path, monkeypatch):
    """Rights do not stop a superuser, so that the refusal is the test's own."""
    folder = folder_with(tmp_path, a_csv="voltage,current\n" + POINTS)
    inside = folder.path / "shut"
    inside.mkdir()
    scandir = os.scandir

    def refused(path):
        if Path(path) == inside:
            raise PermissionError(13, "Permission denied", str(inside))
        return scandir(path)

    monkeypatch.setattr(os, "scandir", refused)
    said = f"The folder {inside} cannot be read: Permission denied"
    assert open_visit_folder(folder.path).problems[-1] == f"{said}: what lies in it is left out."
    (folder.path / "a.csv").unlink()
    with pytest.raises(FolderError, match=re.escape(said)):
        open_visit_folder(folder.path)
