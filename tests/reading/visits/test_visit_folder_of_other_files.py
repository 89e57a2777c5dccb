"""Workbooks, JSON and Parquet in a visit folder are traces there as CSV is; what holds no sweep is
left out in words."""

import csv
import json
import shutil
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from openpyxl import Workbook

from viewer.analysis.results.trace_result import TraceResult
from viewer.app.command_line import run
from viewer.reading.visits.visit_folder import FolderError, open_visit_folder, read_source
from viewer.reports.document.content import Document, ReportDetails
from viewer.reports.document.xlsx_document import write_workbook
from viewer.reports.trace_tables import open_tables
from viewer.site_data.iv_trace import NotATrace, Trace, Unreadable
from viewer.site_data.resource_folder import example_folder
from viewer.state.keeping.site_import import import_steps
from viewer.state.visit_opening import open_site

SUFFIXES = (".csv", ".xlsx", ".json", ".parquet")


@pytest.fixture(scope="module")
def original() -> Trace:
    folder = open_visit_folder(example_folder())
    (trace,) = read_source(folder, folder.sources[0])
    assert isinstance(trace, Trace)
    return trace


def write(trace: Trace, path: Path) -> None:
    """The trace in another layout: keys and points as a file of that kind would hold them."""
    keys = {
        "combiner": trace.combiner,
        "string": trace.string,
        "date": trace.measured_at.isoformat() if trace.measured_at else "",
        "irradiance W/m²": trace.conditions.poa_global,
        "module temperature °C": trace.conditions.temperature_module,
    }
    points = {"voltage": trace.voltage.tolist(), "current": trace.current.tolist()}
    rows = [["Voltage (V)", "Current (A)"], *map(list, zip(*points.values(), strict=True))]
    if path.suffix == ".json":
        path.write_text(json.dumps({**keys, **points}), encoding="utf-8")
    elif path.suffix == ".parquet":
        pq.write_table(pa.table(points), path)
    elif path.suffix == ".xlsx":
        book = Workbook()
        for row in [*map(list, keys.items()), [], *rows]:
            book.active.append(row)
        book.save(path)
    else:
        with path.open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream).writerows([*map(list, keys.items()), [], *rows])


@pytest.fixture
def folder(tmp_path: Path, original: Trace) -> Path:
    """One string's trace in four kinds of file, each named after a string of the example."""
    (tmp_path / "CB-A").mkdir()
    shutil.copy(example_folder() / "site.toml", tmp_path)
    for suffix in SUFFIXES:
        write(original, tmp_path / "CB-A" / f"as{suffix}")
    return tmp_path


def results_at(path: Path) -> tuple[dict[str, TraceResult], list[Unreadable], list[str]]:
    found: dict[str, TraceResult] = {}
    bad: list[Unreadable] = []
    remarks: list[str] = []
    for _, arrival in open_site(path):
        found |= {one.trace.source: one for one in arrival.results}
        bad += arrival.unreadable
        remarks += arrival.remarks
    return found, bad, remarks


def test_every_kind_gives_the_same_result(folder: Path, original: Trace) -> None:
    found, bad, _ = results_at(folder)
    assert not bad
    assert sorted(found) == sorted(f"CB-A/as{suffix}" for suffix in SUFFIXES)
    for source, one in found.items():
        assert one.measured == found["CB-A/as.csv"].measured
        if not source.endswith(".parquet"):  # whose columns have no room for conditions
            assert one.trace.string == original.string
            assert one.trace.conditions.poa_global == original.conditions.poa_global
            assert one.power_ratio == found["CB-A/as.csv"].power_ratio


def test_they_go_into_a_site_file_with_their_bytes(folder: Path, tmp_path: Path) -> None:
    steps = list(import_steps(folder, tmp_path / "all.curvewright"))
    (outcome,) = [step.outcome for step in steps if step.outcome is not None]
    assert len(outcome.trace_ids) == len(SUFFIXES)
    found, bad, _ = results_at(tmp_path / "all.curvewright")
    assert len(found) == len(SUFFIXES)
    assert not bad


def no_trace_files(folder: Path) -> None:
    (folder / "datasheet.json").write_text('{"module": "M", "i_sc": 9.5}', encoding="utf-8")
    book = Workbook()
    for row in (["string", "insulation MΩ"], ["S1", 812], ["S2", 790], ["S3", 805]):
        book.active.append(row)
    book.save(folder / "insulation.xlsx")


def test_what_holds_no_sweep_is_left_out_and_told(folder: Path) -> None:
    no_trace_files(folder)
    found, bad, remarks = results_at(folder)
    assert len(found) == len(SUFFIXES)
    assert not bad
    said = [one for one in remarks if one.startswith("Left out: ")]
    assert len(said) == 2
    assert any("datasheet.json" in one for one in said)
    assert any("insulation.xlsx" in one for one in said)
    assert len(open_tables(folder).unreadable) == 0


def test_many_left_out_files_do_not_flood(folder: Path) -> None:
    for number in range(9):
        (folder / f"{number}.json").write_text('{"a": 1}', encoding="utf-8")
    said = [one for one in results_at(folder)[2] if one.startswith("Left out: ")]
    assert len(said) == 4
    assert said[-1] == "Left out: 6 more files in which nothing looks like a sweep."


def test_a_damaged_workbook_is_unreadable(folder: Path) -> None:
    whole = (folder / "CB-A" / "as.xlsx").read_bytes()
    (folder / "CB-A" / "as.xlsx").write_bytes(whole[: len(whole) // 2])
    found, (bad,), remarks = results_at(folder)
    assert len(found) == len(SUFFIXES) - 1
    assert "damaged workbook" in bad.problem
    assert not any(one.startswith("Left out: ") for one in remarks)


def test_results_of_an_analysis_are_no_traces(folder: Path) -> None:
    for name in ("results.jsonl", "again.json"):
        assert run(["analyze", str(folder), "--quiet", "--json", str(folder / name)]) == 0
    write_workbook(Document("yearly", "A report", ReportDetails(), ()), folder / "report.xlsx")
    found, bad, remarks = results_at(folder)
    assert len(found) == len(SUFFIXES)
    assert not bad
    assert sum("holds results, no sweep" in one for one in remarks) == 3


def test_a_folder_of_nothing_else_says_so(tmp_path: Path) -> None:
    no_trace_files(tmp_path)
    (one,) = read_source(open_visit_folder(tmp_path), "datasheet.json")
    assert isinstance(one, NotATrace)
    with pytest.raises(FolderError, match="holds no trace file"):
        list(open_site(tmp_path))
    with pytest.raises(FolderError, match="holds no trace file"):
        list(import_steps(tmp_path, tmp_path / "a.curvewright"))
    assert not (tmp_path / "a.curvewright").exists()
