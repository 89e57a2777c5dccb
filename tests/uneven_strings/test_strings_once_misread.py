"""Uneven strings that were misread before the model knew that modules differ, all for tuning."""

from pathlib import Path

import pytest

from tests.benchmarks.bench_uneven_strings import judge
from tests.benchmarks.findings_of_folder import analyse
from tests.uneven_strings.generate import generate

USUAL = {
    45: "sound, was told nine ohm beside two groups",
    46: "sound, was told eight limited groups",
    258: "most modules shunted, was called mismatch",
    266: "one leaky cell in each of two modules, was called series resistance",
    390: "modules that leak unevenly, was called nothing",
}
VARIED = {
    31: "three of 15 groups shaded deeply, was called mismatch",
    232: "shaded, was called mismatch",
}


@pytest.mark.parametrize(
    ("plan", "seed", "strings", "which"),
    [("usual", 20261129, 440, USUAL), ("varied", 77, 308, VARIED)],
)
def test_first_cause_is_right(
    tmp_path: Path, plan: str, seed: int, strings: int, which: dict[int, str]
) -> None:
    truth = generate(tmp_path, plan, seed, strings, only=which)
    results, *_ = analyse(tmp_path)
    judged = {one["name"]: judge(one, results[one["name"]]) for one in truth}
    assert len(judged) == len(which)
    assert {name: one.first for name, one in judged.items() if not one.right} == {}


COUNTED = [
    ("varied", 77, 308, 24, "three limited, were told as two, as a fit's curvature would have it"),
    ("varied", 77, 308, 236, "six limited unevenly, were told as five while made one level"),
    ("usual", 20261129, 440, 59, "one lost, was told as nothing for half a volt in a thousand"),
    ("usual", 20261129, 440, 60, "three lost, were told as two, for the same reason"),
]


@pytest.mark.parametrize(("plan", "seed", "strings", "number", "what"), COUNTED)
def test_groups_are_counted_right(
    tmp_path: Path, plan: str, seed: int, strings: int, number: int, what: str
) -> None:
    (truth,) = generate(tmp_path, plan, seed, strings, only={number})
    results, *_ = analyse(tmp_path)
    assert judge(truth, results[truth["name"]]).groups_right, what
