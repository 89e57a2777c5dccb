"""Time and agreement of a string of cells beside ngspice, in one run.

    python -m tests.benchmarks.bench_cell_string

A string of 24 modules of 72 cells, one bypass group in shade, 200 points; then a string of 28
half-cut modules under each scenario, with equal modules and with modules that differ.
"""

import statistics
import time
from collections.abc import Callable

import numpy as np

from tests.spice.string_deck import Cells, Group, ngspice_path, sweep
from viewer.analysis.lesson.string_makeup import makeup_of
from viewer.physics.cell_string.cells import (
    BypassDiode,
    CellBlock,
    CellString,
    ModuleWiring,
    ReverseBreakdown,
)
from viewer.physics.cell_string.severity_fit import MeasuredCurve, fit_severity
from viewer.physics.cell_string.simulate import simulate
from viewer.physics.cell_string.string_curve import current_at, curve
from viewer.physics.single_diode import DiodeParameters
from viewer.site_data.lesson_site import lesson_site
from viewer.site_data.scenario_file import scenarios

MODULE = (9.2, 5e-9, 0.24, 900.0, 2.15)
SHADED_LIGHT = 0.4
DIODE = BypassDiode(drop=0.4, nNsVth=0.0281, resistance=0.003)
BREAKDOWN = ReverseBreakdown(3e-3, -14.0, 3.3)


def milliseconds(work: Callable[[], object], times: int) -> tuple[float, float]:
    """Median and best of so many runs, after one to warm up."""
    work()
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spent.append(1e3 * (time.perf_counter() - start))
    return statistics.median(spent), min(spent)


def our_string() -> CellString:
    one = DiodeParameters.of(*(np.full((24, 1, 1, 1), x) for x in MODULE))
    block = CellBlock.from_modules(one, ModuleWiring(72, 1, 3), DIODE, BREAKDOWN)
    light = np.ones(block.shape)
    light[11, 1] = SHADED_LIGHT
    return CellString((block.in_light(light),), 0.4)


def spice_groups(lumped: bool) -> list[Group]:
    il, i0, rs, rsh, a = MODULE

    def group(light: float, repeat: int = 1) -> Group:
        count = 24 if lumped else 1
        cell = Cells(count, il * light, i0, rs / 72, rsh / 72, a / 72, 3e-3, -14.0, 3.3)
        return Group(
            paths=((cell,) * (24 // count),),
            repeat=repeat,
            bypass_saturation_current=DIODE.saturation_current,
            bypass_n_vth=DIODE.nNsVth,
            bypass_resistance=DIODE.resistance,
        )

    if lumped:
        return [group(1.0, 34), group(SHADED_LIGHT), group(1.0, 37)]
    return [group(1.0)] * 34 + [group(SHADED_LIGHT)] + [group(1.0)] * 37


def against_ngspice() -> None:
    print("24 modules, one group in shade, 200 points      median ms   best ms")
    median, best = milliseconds(lambda: curve(our_string(), 200), 60)
    print(f"  this package, lumping included                {median:9.2f} {best:9.2f}")
    if ngspice_path() is None:
        print("  ngspice is not installed")
        return
    for words, lumped, times in (("equal cells lumped", True, 7), ("cell by cell", False, 5)):
        groups = spice_groups(lumped)
        median, best = milliseconds(lambda g=groups: sweep(g, 24 * 46.0, 200, 0.4), times)
        print(f"  ngspice, {words:<19} (whole process)  {median:9.2f} {best:9.2f}")
    voltage, current = sweep(spice_groups(False), 24 * 46.0, 200, 0.4)
    off = np.abs(current_at(our_string(), voltage) - current).max() / current[0]
    print(f"  largest difference in current: {off:.1e} of Isc")


def scenario_times() -> None:
    print("28 half-cut modules, 200 points, median ms    equal modules   modules differ")
    sheet = lesson_site().modules["LESSON-HC"]
    for scenario in scenarios().values():
        spent = []
        for seed in (None, 3):
            makeup = makeup_of(sheet, 28, 0.3, seed)
            start = scenario.severity.start
            spent.append(
                milliseconds(
                    lambda s=scenario, m=makeup, x=start: simulate(s, x, 900.0, 50.0, m), 9
                )[0]
            )
        print(f"  {scenario.key:<42} {spent[0]:12.2f} {spent[1]:16.2f}")


def fit_times() -> None:
    makeup = makeup_of(lesson_site().modules["LESSON-HC"], 24, 0.3)
    sim = simulate(scenarios()["hard_shade"], 50.0, 900.0, 50.0, makeup, 4)
    measured = MeasuredCurve(sim.voltage, sim.current, 900.0, 50.0)
    start = time.perf_counter()
    for scenario in scenarios().values():
        fit_severity(scenario, measured, makeup)
    print(f"all scenarios fitted to one curve: {time.perf_counter() - start:.2f} s")


if __name__ == "__main__":
    against_ngspice()
    scenario_times()
    fit_times()
