"""Confusion table of first causes on strings whose every cell differs, and what was counted right.

Run: OPENBLAS_NUM_THREADS=1 python -m tests.benchmarks.bench_uneven_strings FOLDER

FOLDER is made by `python -m tests.uneven_strings.generate` (see there for what the set is for, and
which seeds tune and which are held out: look at the sums only of those). It goes through the same
reading and analysis as any visit folder. Causes that one curve cannot tell apart count as one:

- soiling, degradation, and an irradiance that was read too high;
- a faulty cell and shading, of three groups at most where shading is true;
- shorted diodes in threes and missing modules;
- a temperature read too low, and the groups that would lose as much voltage, where that is near
  a whole number of them.
"""

import argparse
import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.benchmarks.certainty_of_findings import Known, print_certainty
from tests.benchmarks.findings_of_folder import analyse, print_confusion, print_times, share
from viewer.analysis.results.trace_result import Signature, TraceResult

LESS_CURRENT = {"soiling", "degradation", "irradiance_input"}
GROUP_CAUSES = {"shading", "cell_fault", "bypass_short", "module_missing"}
FEW_GROUPS = 3
BETA = 0.0031
"""Usual loss of open-circuit voltage per kelvin, as a share of it; common practice, no source."""
NEAR_WHOLE = 0.3
STAIR_TOLERANCE = 0.02
MOST_STAIRS = 3
"""Strings with more stairs are not asked for the currents of each."""


@dataclass(frozen=True)
class Judged:
    """One string: its causes, the first cause found, and how right the reading is."""

    causes: tuple[str, ...]
    circumstances: str
    first: str
    right: bool
    groups_right: bool | None
    """Limited groups and lost groups, where the string has some."""
    no_groups: bool | None
    """That none are told, where it has none."""
    stairs_found: tuple[bool, ...]


def accepted(truth: dict[str, Any]) -> set[str]:
    """First causes that count as right."""
    causes = set(truth["causes"])
    right = set(causes)
    read_too_high = error_of("irradiance_input", truth) > 0
    if causes & {"soiling", "degradation"} or read_too_high:
        right |= LESS_CURRENT
    if "cell_fault" in causes:
        right.add("shading")
    if "shading" in causes and limited_groups(truth) <= FEW_GROUPS:
        right.add("cell_fault")
    if "bypass_short" in causes and truth["lost_groups"] % 3 == 0:
        right.add("module_missing")
    kelvin = error_of("temperature_input", truth)
    if kelvin < 0 and truth["modules"] >= 4:
        groups = -kelvin * BETA * 3 * truth["modules"]
        if round(groups) >= 1 and abs(groups - round(groups)) < NEAR_WHOLE:
            right |= {"bypass_short", "module_missing"}
    return right


def error_of(cause: str, truth: dict[str, Any]) -> float:
    """The reading's error where it is a cause, otherwise 0; a share or in kelvin."""
    name = {"irradiance_input": "irradiance_error", "temperature_input": "temperature_error"}
    return truth[name[cause]] if cause in truth["causes"] else 0.0


def limited_groups(truth: dict[str, Any]) -> int:
    return sum(stair["groups"] for stair in truth["stairs"])


def judge(truth: dict[str, Any], result: TraceResult | None) -> Judged:
    """`result` is None where the trace could not be read."""
    causes, circumstances = tuple(truth["causes"]), truth["circumstances"]
    if result is None:
        return Judged(causes, circumstances, "unreadable", False, None, None, ())
    found = [one.cause for one in result.candidate_causes]
    first = found[0] if found else "not judged"
    steps = [one for one in result.signatures if one.kind == "step"]
    told = groups_in(steps), groups_in(s for s in result.signatures if s.kind == "low_voltage")
    of_groups = bool(GROUP_CAUSES & set(causes))
    return Judged(
        causes,
        circumstances,
        first,
        first in accepted(truth),
        told == (limited_groups(truth), truth["lost_groups"]) if of_groups else None,
        None if of_groups else told == (0, 0),
        stairs_found(truth, [current_of(step, result) for step in steps]),
    )


def groups_in(signatures: Iterable[Signature]) -> int:
    return sum(int(one.details.get("bypass_groups") or 0) for one in signatures)


def current_of(step: Signature, result: TraceResult) -> float:
    """Current of a stair that was told [A]."""
    return float(step.details["current_fraction"]) * result.measured.i_sc


def stairs_found(truth: dict[str, Any], told: list[float]) -> tuple[bool, ...]:
    """For each true stair, whether one was told within 2 % of Isc of its range."""
    if len(truth["stairs"]) > MOST_STAIRS:
        return ()
    near = STAIR_TOLERANCE * truth["i_sc"]
    return tuple(
        any(stair["low"] - near <= current <= stair["high"] + near for current in told)
        for stair in truth["stairs"]
    )


def print_sums(judged: list[Judged]) -> None:
    sound = [one for one in judged if one.causes == ("none",)]
    faulty = [one for one in judged if one.causes != ("none",)]
    single = [one for one in faulty if len(one.causes) == 1]
    pairs = [one for one in faulty if len(one.causes) > 1]
    stairs = [found for one in judged for found in one.stairs_found]
    print(f"first cause right, faulty strings:    {share(one.right for one in faulty)}")
    print(f"first cause right, single causes:     {share(one.right for one in single)}")
    print(f"first cause right, pairs:             {share(one.right for one in pairs)}")
    print(f"false alarms on sound strings:        {share(not one.right for one in sound)}")
    print(f"groups right where there are some:    {share(one.groups_right for one in judged)}")
    print(f"none told where there are none:       {share(one.no_groups for one in judged)}")
    print(f"stair current within 2 % of Isc:      {share(stairs)}")


def report(judged: list[Judged]) -> None:
    """The confusion table, sums, and the sums of each kind of circumstances."""
    in_order = sorted(judged, key=lambda one: (len(one.causes), one.causes))
    print_confusion((("+".join(one.causes), one.first, one.right) for one in in_order), 34)
    print_sums(judged)
    circumstances = sorted({one.circumstances for one in judged})
    if len(circumstances) > 1:
        for name in circumstances:
            print(f"\n{name}")
            print_sums([one for one in judged if one.circumstances == name])
        print()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    folder = parser.parse_args().folder
    truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    results, seconds, of_findings = analyse(folder)
    report([judge(one, results.get(one["name"])) for one in truth])
    print_times(seconds, of_findings, "some 30 module types")
    print_certainty((known(one), results[one["name"]]) for one in truth if one["name"] in results)


def known(truth: dict[str, Any]) -> Known:
    countable = GROUP_CAUSES & set(truth["causes"])
    limited = limited_groups(truth) if countable else 0
    return Known(truth["causes"], limited or None, truth["lost_groups"] or None)


if __name__ == "__main__":
    main()
