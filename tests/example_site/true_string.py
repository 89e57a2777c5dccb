"""The circuit of one invented string at one visit, with its spread, ageing and faults."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tests.example_site.true_module import CellTruth, ModuleTruth
from tests.spice.string_deck import Cells, Group

AGEING_TO_CURRENT = 0.55  # share of the first year's loss of power that shows in current
AGEING_TO_VOLTAGE = 0.30


@dataclass(frozen=True)
class Surroundings:
    """What acts on a string besides its faults."""

    poa_global: float
    temperature_cell: float
    soiling: float
    power_lost_to_age: float


@dataclass(frozen=True)
class Spread:
    """How each module of a string differs from its datasheet (factors near one)."""

    current: np.ndarray
    voltage: np.ndarray
    series: np.ndarray
    shunt: np.ndarray

    @classmethod
    def drawn(cls, modules: int, rng: np.random.Generator) -> "Spread":
        """Modules sorted to 0..+3 % by the maker, some of it in current, some in voltage."""
        return cls(
            1.006 + 0.004 * rng.standard_normal(modules),
            1.003 + 0.002 * rng.standard_normal(modules),
            1 + 0.03 * rng.standard_normal(modules),
            np.exp(0.25 * rng.standard_normal(modules)),
        )


def string_groups(
    module: ModuleTruth, around: Surroundings, spread: Spread, faults: list[dict[str, Any]]
) -> list[Group]:
    """Every bypass group of the string from the positive end on, as the deck takes them."""
    number = len(spread.current)
    losses = _light_lost(module, number, faults)
    out: list[Group] = []
    for place in range(number):
        for position in range(module.sheet["bypass_diodes"]):
            group = _group(module, around, spread, place, losses[place, position], faults)
            out.append(group)
    _damage(out, module, faults)
    return _lump(out)


def _light_lost(module: ModuleTruth, number: int, faults: list[dict[str, Any]]) -> np.ndarray:
    """Share of light each bypass group of each module misses by shade and extra soiling."""
    groups = module.sheet["bypass_diodes"]
    kept = np.ones((number, groups))
    for fault in faults:
        if fault["kind"] == "soiling":
            kept *= 1 - fault["loss"]
        elif fault["kind"] in ("shade", "soft_shade"):
            first = number // 3
            for step in range(fault["modules"]):
                share = 1.0 if fault["kind"] == "shade" else (step + 1) / fault["modules"]
                kept[first + step, : fault["groups"]] *= 1 - fault["loss"] * share
    return 1 - kept


def _group(
    module: ModuleTruth,
    around: Surroundings,
    spread: Spread,
    place: int,
    light_lost: float,
    faults: list[dict[str, Any]],
) -> Group:
    truth = module.sheet["truth"]
    light = around.poa_global * (1 - around.soiling) * (1 - light_lost)
    cell = _aged(module.cell(light, around.temperature_cell), spread, place, around)
    for fault in faults:
        if fault["kind"] == "shunt" and place >= len(spread.current) - fault["modules"]:
            far = (place - (len(spread.current) - fault["modules"]) + 1) / fault["modules"]
            shunt = 1 / (1 / cell.resistance_shunt + far / fault["ohm"])
            cell = replace(cell, resistance_shunt=shunt)
    cells = Cells(
        module.sheet["cells_in_series"] // module.sheet["bypass_diodes"],
        cell.photocurrent,
        cell.saturation_current,
        cell.resistance_series,
        cell.resistance_shunt,
        cell.n_vth,
        truth["breakdown_factor"],
        truth["breakdown_voltage"],
        truth["breakdown_exp"],
    )
    return Group(paths=((cells,),) * module.sheet["parallel_paths"])


def _aged(cell: CellTruth, spread: Spread, place: int, around: Surroundings) -> CellTruth:
    age = around.power_lost_to_age
    current = spread.current[place] * (1 - AGEING_TO_CURRENT * age)
    # A voltage factor below one is a larger saturation current: Voc of a cell is about 0.65 V.
    lost = 0.65 * (1 - spread.voltage[place] * (1 - AGEING_TO_VOLTAGE * age))
    return CellTruth(
        cell.photocurrent * current,
        cell.saturation_current * float(np.exp(lost / cell.n_vth)),
        cell.resistance_series * spread.series[place] * (1 + 2 * age),
        cell.resistance_shunt * spread.shunt[place],
        cell.n_vth,
    )


def _damage(groups: list[Group], module: ModuleTruth, faults: list[dict[str, Any]]) -> None:
    """Shorted diodes and dead cells, in the module a third of the way along."""
    diodes = module.sheet["bypass_diodes"]
    first = len(groups) // diodes // 3 * diodes
    for fault in faults:
        if fault["kind"] == "bypass_short":
            for k in range(fault["groups"]):
                groups[first + k] = replace(groups[first + k], bypass="short")
        elif fault["kind"] == "dead_cell":
            whole = groups[first].paths[0][0]
            sound = replace(whole, count=whole.count - 1)
            dead = replace(whole, count=1, photocurrent=whole.photocurrent * (1 - fault["loss"]))
            others = groups[first].paths[1:]
            groups[first] = replace(groups[first], paths=((sound, dead), *others))


def _lump(groups: list[Group]) -> list[Group]:
    """Neighbouring groups that are alike, as one with a count."""
    out: list[Group] = []
    for group in groups:
        if out and replace(out[-1], repeat=1) == group:
            out[-1] = replace(out[-1], repeat=out[-1].repeat + 1)
        else:
            out.append(group)
    return out
