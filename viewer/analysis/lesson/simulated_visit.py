"""A scenario as traces of a visit: the faulty string and healthy ones beside it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from viewer.analysis.lesson.string_makeup import makeup_of
from viewer.physics.cell_string.field_noise import NoiseSize, recorded_sweep
from viewer.physics.cell_string.scenario import Scenario
from viewer.physics.cell_string.simulate import HEALTHY, simulate
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout

COMBINER = "CB-1"
NOTE = "Simulated, not measured."
MINUTES_APART = 3
NO_NOISE = NoiseSize(0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True)
class VisitPlan:
    """What to simulate: conditions, the string, who stands beside it, and the seed.

    poa_global [W/m²] and temperature_cell [°C] are true ones; the recorded ones carry noise
    unless `noise` is false, and the scenario's error if it is one of a wrong sensor. `beside`
    healthy strings are traced before the faulty one. resistance [ohm] is the cable's.
    """

    datasheet: Datasheet
    modules_in_series: int
    poa_global: float = 900.0
    temperature_cell: float = 50.0
    beside: int = 0
    seed: int = 1
    noise: bool = True
    points: int = 120
    resistance: float = 0.3
    measured_at: datetime | None = None
    name_fault: bool = True
    """Say in the faulty trace's note which scenario it is."""


def simulated_layout(plan: VisitPlan) -> SiteLayout:
    """The site of the simulated visit: one combiner with all its strings."""
    strings = tuple(
        StringLayout(_name(n), plan.datasheet.key, plan.modules_in_series)
        for n in range(1, plan.beside + 2)
    )
    return SiteLayout(
        "Simulated (invented)",
        {plan.datasheet.key: plan.datasheet},
        (Combiner(COMBINER, strings),),
    )


def simulated_traces(
    scenario: Scenario, severity: float, extent: float | None, plan: VisitPlan
) -> Iterator[Trace]:
    """The traces in the order they would be taken; the same plan gives the same ones.

    Raises ValueError in words for a datasheet that cannot be used.
    """
    if plan.beside < 0:
        raise ValueError("the number of healthy strings beside is 0 or more")
    for number in range(1, plan.beside + 2):
        faulty = number == plan.beside + 1
        yield _trace(scenario if faulty else HEALTHY, severity, extent, plan, number)


def _trace(
    scenario: Scenario, severity: float, extent: float | None, plan: VisitPlan, number: int
) -> Trace:
    seed = plan.seed * 1000 + number
    makeup = makeup_of(
        plan.datasheet, plan.modules_in_series, plan.resistance, seed if plan.noise else None
    )
    sim = simulate(scenario, severity, plan.poa_global, plan.temperature_cell, makeup, extent)
    sweep = recorded_sweep(sim, seed, None if plan.noise else NO_NOISE, plan.points)
    named = f" Scenario {scenario.key}." if plan.name_fault and scenario is not HEALTHY else ""
    pause = timedelta(minutes=MINUTES_APART * (number - 1))
    return Trace(
        source=f"{COMBINER}/{_name(number)}",
        voltage=sweep.voltage.round(3),
        current=sweep.current.round(4),
        combiner=COMBINER,
        string=_name(number),
        measured_at=plan.measured_at + pause if plan.measured_at else None,
        conditions=MeasuredConditions(
            poa_global=round(sweep.poa_global, 1),
            temperature_cell=round(sweep.temperature_cell, 1),
        ),
        note=NOTE + named,
    )


def _name(number: int) -> str:
    return f"{COMBINER}-S{number:02d}"
