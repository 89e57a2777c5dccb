"""Many files: progress, doubts, failures to retry, copies; a watched folder; writing back."""

import os

import numpy as np
import pytest

from tests.reading.sweeps import POINTS, assert_is_sweep, lines
from viewer.reading.file_reading import read_file
from viewer.reading.many_files import ReadingReport, read_files
from viewer.reading.plain.trace_writing import plain_text, write_traces
from viewer.reading.recipes.recipe import ColumnRef, CurveColumns, Recipe
from viewer.reading.trace_files import NoFilesError, trace_files
from viewer.reading.visits.watched_folder import WatchedFolder

GOOD = "V;I\n" + lines("{v};{i}")


@pytest.fixture
def folder(tmp_path):
    for name, text in {
        "CB1/S10.txt": GOOD,
        "CB1/S2.txt": GOOD.replace("V;I", "# note: two\nV;I"),
        "CB2/S1.txt": GOOD,
        "CB2/odd.dat": "a;b;c\n" + lines("{v};{i};0").replace("708.0;0.0;0", "708.0;0.0;x"),
        "CB2/unnamed.dat": lines("{i};{v}"),
        "readme.txt": "not a trace",
    }.items():
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text)
    return tmp_path


def report_of(steps, report=None):
    report = report or ReadingReport()
    for step in steps:
        report.take(step)
    return report


def test_each_file_is_read_doubtful_failed_or_a_copy(folder):
    files = trace_files([folder])
    steps = list(read_files(files))
    assert [(step.done, step.total) for step in steps] == [(n, 5) for n in range(1, 6)]
    report = report_of(steps)
    assert [(t.combiner, t.string) for t in report.traces] == [
        ("CB1", "S2"),
        ("CB1", "S10"),
        ("CB2", "odd"),
        ("CB2", "unnamed"),
    ]
    assert [(copy.source, copy.same_as) for copy in report.duplicates] == [
        ("CB2/S1.txt", "CB1/S10.txt")
    ]
    assert [reading.source for reading in report.doubtful] == ["CB2/odd.dat", "CB2/unnamed.dat"]
    assert report.summary() == "4 traces from 4 files, 2 files to look at, 1 copy left out."


def test_stopping_early_reads_no_more(folder):
    steps = read_files(trace_files([folder]))
    next(steps)
    steps.close()
    assert list(steps) == []


def test_failed_files_can_be_read_again_with_another_recipe(folder):
    (folder / "CB1/S2.txt").write_text("first;second\n" + "5;1\n" * 9)
    report = report_of(read_files(trace_files([folder / "CB1"])))
    (failure,) = report.failures
    assert failure.source == "S2.txt"
    assert "no voltage and no current" in failure.problem
    (folder / "CB1/S2.txt").write_text("first;second\n" + lines("{v};{i}"))
    recipe = Recipe(curves=(CurveColumns(ColumnRef("first"), ColumnRef("second")),))
    report_of(read_files(report.files_to_retry(), recipe), report)
    assert report.failures == ()
    assert len(report.traces) == 2


def test_what_was_read_before_is_known_again(folder):
    first = report_of(read_files(trace_files([folder / "CB1"])))
    again = report_of(read_files(trace_files([folder / "CB2"]), known=first.known()))
    assert [copy.same_as for copy in again.duplicates] == ["S10.txt"]


def test_files_of_one_name_are_told_apart(folder):
    (folder / "CB2/S2.txt").write_text(GOOD + "# other\n")
    sources = [file.source for file in trace_files([folder / "CB1", folder / "CB2"])]
    assert "CB1/S2.txt" in sources
    assert "CB2/S2.txt" in sources
    assert len(set(sources)) == len(sources)


def test_nothing_to_read_is_one_sentence(tmp_path):
    with pytest.raises(NoFilesError, match="no file or folder"):
        trace_files([tmp_path / "nowhere"])
    with pytest.raises(NoFilesError, match="no files to read"):
        trace_files([tmp_path])


def test_a_watched_folder_reports_finished_new_files_once(tmp_path):
    (tmp_path / "old.csv").write_text("x")
    watched = WatchedFolder(tmp_path)
    assert watched.new_files() == []
    (tmp_path / "new.csv").write_text("V")
    assert watched.new_files() == []  # it may still be written
    (tmp_path / "new.csv").write_text("V;I")
    assert watched.new_files() == []
    assert [file.source for file in watched.new_files()] == ["new.csv"]
    assert watched.new_files() == []
    os.utime(tmp_path / "old.csv", ns=(1, 1))
    assert watched.new_files() == []
    assert [file.source for file in watched.new_files()] == ["old.csv"]
    gone = WatchedFolder(tmp_path / "unplugged")
    assert gone.new_files() == []


def test_a_written_trace_reads_back_unchanged(tmp_path):
    odd = np.random.default_rng(1).uniform(0, 700, 20)
    text = "# string: =S/1\n# poa_global: 812.4567\n# note: a  b\nvoltage,current\n"
    path = tmp_path / "a.csv"
    path.write_text(text + "".join(f"{v!r},{v / 3!r}\n" for v in odd.tolist()))
    (trace,) = read_file(path, "a.csv").traces
    (name,) = write_traces([trace], tmp_path / "kept")
    (again,) = write_traces([trace], tmp_path / "kept")
    assert name != again
    (back,) = read_file(tmp_path / "kept" / name, name).traces
    np.testing.assert_array_equal(back.voltage, trace.voltage)
    np.testing.assert_array_equal(back.current, trace.current)
    assert back.conditions == trace.conditions
    assert back.string == "=S/1"
    assert plain_text(back) == plain_text(trace)


def test_the_invented_sweep_itself(folder):
    (trace,) = read_file(folder / "CB1/S10.txt", "S10.txt").traces
    assert_is_sweep(trace)
    assert len(POINTS) == trace.voltage.size
