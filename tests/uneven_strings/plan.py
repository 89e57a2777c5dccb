"""Which strings a set holds: the cause of each, and its circumstances.

    usual    p-type modules of one bin each, good instruments
    varied   the same causes where it is hard: noise, short strings, low and high sun, modules
             that differ much, n-type and heterojunction cells, other bypass diodes, leaking cells
    printed  as usual, but with coefficients as the library prints them for the type, not as the
             simulated model behaves

Of forty strings eleven are sound, twenty have one cause and nine have two. A plan's first strings
do not depend on how many are wanted.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from tests.uneven_strings.circumstances import Circumstances
from tests.uneven_strings.module_types import USUAL_KINDS, VARIED_KINDS, Kind

PLANS = ("usual", "varied", "printed")
ROUND, SOUND, SINGLE = 40, 11, 20

SINGLE_CAUSES = (
    "soiling",
    "shading",
    "shading",
    "cell_fault",
    "bypass_short",
    "module_missing",
    "series_resistance",
    "shunt",
    "module_mismatch",
    "degradation",
    "irradiance_input",
    "temperature_input",
)
PAIRS = (
    ("soiling", "shading"),
    ("shading", "bypass_short"),
    ("soiling", "series_resistance"),
    ("soiling", "bypass_short"),
    ("irradiance_input", "shading"),
    ("series_resistance", "shading"),
    ("soiling", "shunt"),
    ("degradation", "series_resistance"),
    ("temperature_input", "shading"),
    ("module_missing", "soiling"),
    ("cell_fault", "bypass_short"),
    ("module_mismatch", "series_resistance"),
    ("soiling", "cell_fault"),
    ("irradiance_input", "bypass_short"),
    ("shunt", "series_resistance"),
)
VARIANTS = ("noisy", "short", "extreme", "spread", "n-type", "diode", "leaky")


@dataclass(frozen=True)
class PlannedString:
    number: int
    causes: tuple[str, ...]
    circumstances: Circumstances


def kinds_of(plan: str) -> tuple[Kind, ...]:
    return VARIED_KINDS if plan == "varied" else USUAL_KINDS


def planned_strings(plan: str, strings: int, rng: np.random.Generator) -> Iterator[PlannedString]:
    for number in range(strings):
        circumstances = Circumstances()
        if plan == "varied":
            name = VARIANTS[(number // ROUND + number) % len(VARIANTS)]
            circumstances = variant(name, rng)
        yield PlannedString(number, causes_of(number), circumstances)


def causes_of(number: int) -> tuple[str, ...]:
    rounds, place = divmod(number, ROUND)
    if place < SOUND:
        return ("none",)
    if place < SOUND + SINGLE:
        turn = rounds * SINGLE + place - SOUND
        return (SINGLE_CAUSES[turn % len(SINGLE_CAUSES)],)
    turn = rounds * (ROUND - SOUND - SINGLE) + place - SOUND - SINGLE
    return PAIRS[turn % len(PAIRS)]


def variant(name: str, rng: np.random.Generator) -> Circumstances:
    """One kind of hard circumstances; modules differ a little more in all of them."""
    base = Circumstances(name=name, module_current_spread=0.008)
    if name == "noisy":
        return replace(base, noise=(0.003, 0.006), points=(25, 60), drift=0.004)
    if name == "short":
        return replace(base, modules=(1, 6))
    if name == "extreme":
        return replace(
            base,
            irradiance=((350.0, 500.0), (1100.0, 1300.0))[rng.integers(2)],
            temperature=((0.0, 15.0), (65.0, 85.0))[rng.integers(2)],
            any_temperature=True,
        )
    if name == "spread":
        return replace(
            base,
            module_current_spread=0.014,
            module_voltage_spread=0.007,
            module_temperature_spread=1.5,
            cell_current_spread=0.008,
        )
    if name == "n-type":
        return replace(base, technologies=("n-type-Si", "HIT"))
    if name == "diode":
        drop = ((0.22, 0.3), (0.65, 0.9))[rng.integers(2)]
        return replace(base, bypass_drop=drop, read_at_back=1.0, cable_most=0.015)
    return replace(base, reverse_as_forward=1.0)
