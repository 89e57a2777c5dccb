"""Puts faults into an uneven string; each returns what it did, for the truth.

`more` runs from 0 to 1: where a fault first cost too little to be called one, it is drawn again
and greater. Sizes are judgement, from what a crew would just notice to plain failures.
"""

from collections.abc import Callable
from typing import Any

import numpy as np

from tests.uneven_strings.module_types import BYPASS_DIODES
from tests.uneven_strings.uneven_string import UnevenString

Details = dict[str, Any]
SHORTED_GROUPS = (1, 1, 2, 2, 4, 5)
"""Never three: they cannot be told from a missing module."""


def soiling(string: UnevenString, more: float) -> Details:
    lost = string.rng.uniform(0.05, 0.09) + more * 0.06
    uneven = 1 + 0.07 * string.rng.standard_normal(string.count)
    string.module_current_left = string.module_current_left * (1 - lost * uneven)
    return {"lost": lost}


def degradation(string: UnevenString, more: float) -> Details:
    lost = string.rng.uniform(0.04, 0.08) + 0.05 * more
    uneven = 1 + 0.10 * string.rng.standard_normal(string.count)
    string.module_current_left = string.module_current_left * (1 - lost * uneven)
    string.series_factor *= string.rng.uniform(1.0, 1.25)
    string.saturation_factor *= string.rng.uniform(1.0, 1.2)
    return {"lost": lost, "series_factor": string.series_factor}


def module_mismatch(string: UnevenString, more: float) -> Details:
    spread = string.rng.uniform(0.03, 0.055) + 0.015 * more
    z = string.rng.standard_normal(string.count).clip(-2.2, 2.2)
    string.module_current_left = string.module_current_left * (1 + spread * (z - z.mean()))
    return {"spread": spread}


def shading(string: UnevenString, more: float) -> Details:
    """A shadow over groups side by side or here and there, in one, two, three or many depths."""
    rng = string.rng
    least = 1 + int(more * 0.1 * string.groups_in_all)
    most = max(1, int(0.4 * string.groups_in_all))
    kind = str(rng.choice(["hard", "hard", "graded", "two", "three"]))
    count = int(rng.integers(least, max(least + 1, most + 1)))
    if rng.random() < 0.5:
        count = min(count, least + 2)
    groups = shaded_groups(string, count)
    whole = str(rng.choice(["all", "some"])) == "all"
    half = None
    if string.paths == 2 and rng.random() < 0.5:
        half = int(rng.choice([0, 1]))
    kind, depths = shadow_depths(rng, kind, count, 0.86 if half is None else 0.75)
    # Side by side may be fewer groups than were drawn, where other faults took some.
    for (module, group), depth in zip(groups, depths, strict=False):
        shade(string, module, group, depth, whole, half)
    return {"shape": kind, "groups": len(groups), "whole_groups": whole, "half": half}


def shaded_groups(string: UnevenString, count: int) -> list[tuple[int, int]]:
    free = string.free_groups()
    if string.rng.random() < 0.7:
        start = int(string.rng.integers(0, max(1, len(free) - count + 1)))
        return free[start : start + count]
    return [free[j] for j in string.rng.permutation(len(free))[:count]]


def shadow_depths(
    rng: np.random.Generator, kind: str, count: int, most: float
) -> tuple[str, np.ndarray]:
    """Share of the light left to each group, and the kind that so few groups allow."""
    first = rng.uniform(0.15, most)
    if kind == "graded" and count >= 3:
        return kind, np.linspace(first, min(most, first + rng.uniform(0.1, 0.35)), count)
    if kind == "two" and count >= 2:
        at_first = np.arange(count) < rng.integers(1, count)
        return kind, np.where(at_first, first, rng.uniform(0.15, most))
    if kind == "three" and count >= 3:
        return kind, rng.uniform(0.15, most, 3)[np.arange(count) * 3 // count]
    return "hard", np.full(count, first)


def shade(
    string: UnevenString, module: int, group: int, light: float, whole: bool, half: int | None
) -> None:
    """Leave that share of the light to all cells of the group, or to some; in a half or in all."""
    cells: slice | np.ndarray = slice(None)
    if not whole:
        per_path = string.cells_per_path
        number = string.rng.integers(1, max(2, per_path // 2))
        cells = string.rng.choice(per_path, number, replace=False)
    paths: slice | int = slice(None) if half is None else half
    string.light[module, group, paths, cells] = light


def cell_fault(string: UnevenString, more: float) -> Details:
    """One cell in each of up to four modules, cracked or cut off: less current, often leaking."""
    rng = string.rng
    modules = int(rng.integers(1, min(3, string.count) + 1))
    if more:
        modules = min(string.count, modules + 1)
    free = string.free_groups()
    rng.shuffle(free)
    common = rng.uniform(0.15, 0.8)
    left: dict[int, float] = {}
    for module, group in free:
        if module in left or len(left) >= modules:
            continue
        path = rng.integers(0, string.paths)
        at = (module, group, path, rng.integers(0, string.cells_per_path))
        left[module] = common if rng.random() < 0.3 else rng.uniform(0.1, 0.8)
        string.light[at] = left[module]
        string.cell_shunt[at] = rng.uniform(0.15, 1.0)
    return {"light_left": [round(float(one), 3) for one in left.values()]}


def bypass_short(string: UnevenString, more: float) -> Details:
    groups = SHORTED_GROUPS[string.rng.integers(0, len(SHORTED_GROUPS))]
    if more:
        groups = max(groups, 2)
    free = string.free_groups()
    groups = min(groups, max(1, string.groups_in_all // 3), len(free) - 1)
    if groups == 3:
        groups = 2
    for j in string.rng.permutation(len(free))[:groups]:
        string.shorted[free[j]] = True
    return {"groups": groups}


def module_missing(string: UnevenString, more: float) -> Details:
    rng = string.rng
    modules = 1 if rng.random() < 0.75 or string.count < 10 else 2
    free = string.free_groups()
    whole = [
        k for k in range(string.count) if all((k, group) in free for group in range(BYPASS_DIODES))
    ]
    for j in rng.permutation(len(whole))[:modules]:
        string.missing[whole[j]] = True
    return {"modules": modules}


def series_resistance(string: UnevenString, more: float) -> Details:
    share = string.rng.uniform(0.025, 0.07) + 0.04 * more
    loads = string.module.load_resistance * string.count
    string.extra_resistance += share * loads * 1000 / max(string.irradiance, 600)
    return {"ohm": string.extra_resistance}


def shunt(string: UnevenString, more: float) -> Details:
    """Leaks beside the cells of modules side by side, alike or less from one to the next."""
    rng = string.rng
    modules = max(1, round(rng.uniform(0.3, 1.0) * string.count))
    per_cell = string.module.load_resistance / string.module.cells_in_series
    times = np.exp(rng.uniform(np.log(4), np.log(14))) / (1 + 1.2 * more)
    start = int(rng.integers(0, string.count - modules + 1))
    kind = str(rng.choice(["even", "graded"]))
    for j in range(modules):
        less = 1 if kind == "even" else 1 + 2.5 * j / max(1, modules - 1)
        uneven = np.exp(0.2 * rng.standard_normal())
        string.leak[start + j] = per_cell * times * less * uneven
    return {"modules": modules, "load_resistances": float(times), "kind": kind}


FAULTS: dict[str, Callable[[UnevenString, float], Details]] = {
    "soiling": soiling,
    "shading": shading,
    "cell_fault": cell_fault,
    "bypass_short": bypass_short,
    "module_missing": module_missing,
    "series_resistance": series_resistance,
    "shunt": shunt,
    "module_mismatch": module_mismatch,
    "degradation": degradation,
}
LIMITING = ("shading", "cell_fault")
"""Put in last, into groups that the others left alone."""
