"""A sweep that lies in a visit folder twice counts once, and it is said which file counts."""

from dataclasses import replace

import numpy as np

from tests.invented_results import invented_layout
from viewer.reading.visits.copied_files import TOLD_OF, counted_once
from viewer.site_data.iv_trace import Trace

LAYOUT = invented_layout(1, 4)
"""Combiner C1 with strings S1 to S4."""


def trace(source: str, digest: str | None, string: str = "S1") -> Trace:
    return Trace(source, np.zeros(0), np.zeros(0), "C1", string, sha256=digest)


def test_the_copy_is_the_file_with_the_longer_name_wherever_it_is_listed() -> None:
    traces = [trace("S1 (copy).csv", "a"), trace("S1.csv", "a"), trace("S2.csv", "b", "S2")]
    counted, remarks = counted_once(traces, LAYOUT)
    assert [one.source for one in counted] == ["S1.csv", "S2.csv"]
    assert remarks == ("S1.csv and S1 (copy).csv hold the same bytes: only S1.csv is counted.",)


def test_the_file_whose_string_is_known_counts() -> None:
    traces = [trace("x.csv", "a", "x"), trace("C1/S1.csv", "a")]
    counted, (remark,) = counted_once(traces, LAYOUT)
    assert [one.source for one in counted] == ["C1/S1.csv"]
    assert "only C1/S1.csv is counted, though by their names they are of different" in remark


def test_the_file_named_after_its_string_counts() -> None:
    counted, _ = counted_once([trace("x.csv", "a"), trace("C1/S1.csv", "a")], LAYOUT)
    assert [one.source for one in counted] == ["C1/S1.csv"]


def test_a_file_of_several_traces_is_one_file() -> None:
    book = [trace(f"book.xlsx#{n}", "a", f"S{n}") for n in (1, 2)]
    copy = [replace(one, source=f"later/{one.source}") for one in book]
    assert counted_once(book, LAYOUT) == (book, ())
    counted, (remark,) = counted_once([*copy, *book], LAYOUT)
    assert counted == book
    assert remark.startswith("book.xlsx and later/book.xlsx hold")
    assert "names" not in remark


def test_traces_whose_bytes_are_not_known_are_no_copies() -> None:
    traces = [trace("a.csv", None), trace("b.csv", None)]
    assert counted_once(traces, LAYOUT) == (traces, ())


def test_of_many_copies_the_first_are_named() -> None:
    traces = [
        trace(f"{name}{n}.csv", str(n), f"S{n}") for n in range(TOLD_OF + 3) for name in ("a", "bb")
    ]
    counted, remarks = counted_once(traces, LAYOUT)
    assert len(counted) == TOLD_OF + 3
    assert [one.split()[0] for one in remarks[:3]] == ["a0.csv", "a1.csv", "a2.csv"]
    assert remarks[TOLD_OF:] == ("3 more files with copies, of which one each is counted.",)
