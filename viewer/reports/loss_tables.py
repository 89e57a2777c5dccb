"""Worst strings of a site and mismatch of combiners, as lines for a terminal and as data."""

from collections.abc import Sequence
from typing import Any

from viewer.analysis.causes.cause_words import cause_name
from viewer.analysis.losses.energy_cost import EnergyCost, total
from viewer.analysis.losses.mismatch import CombinerMismatch
from viewer.analysis.losses.site_overview import CostlyString
from viewer.physics.nomenclature import counted, quantity
from viewer.reports.plain_table import aligned

WORST_HEADINGS = (
    "combiner",
    "string",
    "power ratio",
    "± (k=2)",
    "first cause",
    "likelihood",
    "W at STC",
    "± W (k=2)",
    "kWh a year",
)


def money_text(value: float | None, currency: str) -> str:
    """A sum of money; empty where there is no price."""
    return "" if value is None else f"{value:.2f} {currency}".rstrip()


def worst_cells(one: CostlyString, with_energy: bool) -> list[str]:
    """One row under WORST_HEADINGS and, last, money a year."""
    return [
        one.combiner,
        one.string,
        quantity("power_ratio").text(one.power_ratio),
        quantity("power_ratio_uncertainty").text(one.power_ratio_uncertainty),
        cause_name(one.first_cause),
        f"{100 * one.likelihood:.0f} %",
        f"{one.cost.lost_at_stc:.0f}",
        "–"
        if one.cost.lost_at_stc_uncertainty is None
        else f"{one.cost.lost_at_stc_uncertainty:.0f}",
        f"{one.cost.lost_in_year:.0f}" if with_energy else "–",
        money_text(one.cost.money, one.cost.currency),
    ]


def lost_text(cost: EnergyCost) -> str:
    """What is lacking at STC, with its uncertainty where that is known."""
    spread = cost.lost_at_stc_uncertainty
    return (
        f"{cost.lost_at_stc:.0f} W"
        if spread is None
        else f"{cost.lost_at_stc:.0f} ± {spread:.0f} W"
    )


def together_text(count: int, every: EnergyCost, with_energy: bool) -> str:
    """The sum over so many strings, as a sentence."""
    strings = counted(count, "string")
    known = (
        "" if every.lost_at_stc_uncertainty is None else " (k = 2, errors taken as common to all)"
    )
    energy = f", {every.lost_in_year:.0f} kWh a year" if with_energy else ""
    money = f", {money_text(every.money, every.currency)} a year" if every.money else ""
    return f"Together, {strings}: {lost_text(every)} at STC{known}{energy}{money}."


def none_text(judged: bool) -> str:
    """Why the list is empty; `judged`: whether any string has a power ratio."""
    if judged:
        return "No string loses power to a fault of its own."
    return "No string can be judged: none has a prediction to be held against."


def worst_lines(worst: Sequence[CostlyString], with_energy: bool, judged: bool = True) -> list[str]:
    """A table, its totals and the assumptions; `judged`: whether any string has a power ratio."""
    if not worst:
        return [none_text(judged)]
    headings = (*WORST_HEADINGS, "money a year")
    rows = [worst_cells(one, with_energy) for one in worst]
    every = total([one.cost for one in worst])
    right = {*headings} - {"combiner", "string", "first cause"}
    return [
        *aligned(headings, rows, right),
        "",
        together_text(len(worst), every, with_energy),
        "Assumptions:",
        *(f"- {text}" for text in every.assumptions),
    ]


def worst_data(worst: Sequence[CostlyString], with_energy: bool) -> dict[str, Any]:
    """The same for JSON; energy is null where no year is known."""
    return {
        "strings": [
            {
                "combiner": one.combiner,
                "string": one.string,
                "power_ratio": one.power_ratio,
                "power_ratio_uncertainty": one.power_ratio_uncertainty,
                "first_cause": one.first_cause,
                "likelihood": one.likelihood,
                "lost_at_stc_w": one.cost.lost_at_stc,
                "lost_at_stc_uncertainty_w": one.cost.lost_at_stc_uncertainty,
                "lost_in_year_kwh": one.cost.lost_in_year if with_energy else None,
                "money_in_year": one.cost.money,
                "currency": one.cost.currency,
            }
            for one in worst
        ],
        "assumptions": list(total([one.cost for one in worst]).assumptions) if worst else [],
    }


def mismatch_lines(combiner: str, made: CombinerMismatch, basis: str, visit: str) -> list[str]:
    """One combiner: its maximum, its strings, and what repairs would bring."""
    rows = [
        [
            one.string,
            f"{one.own:.0f}",
            f"{one.at_common_voltage:.0f}",
            f"{one.mismatch:.0f}",
            f"{one.repair_gain:+.0f}",
        ]
        for one in sorted(made.shares, key=lambda one: -one.repair_gain)
    ]
    headings = ("string", "own W", "W in parallel", "mismatch W", "repaired W")
    return [
        f"Combiner {combiner or '–'}, {visit} ({basis}):",
        f"{made.p_mp:.0f} W at {made.v_mp:.0f} V; its strings' maxima add up to "
        f"{made.sum_of_maxima:.0f} W; mismatch loss {made.loss:.0f} W "
        f"({100 * made.loss_fraction:.2f} %).",
        *(f"  {line}" for line in aligned(headings, rows, set(headings[1:]))),
        f"Repairing the worst (sound: {made.expected_from}):",
        *(
            f"  {k}: {', '.join(made.worst_first[:k])}: {made.gain_of_worst[k]:+.0f} W"
            for k in range(1, min(3, len(made.worst_first)) + 1)
        ),
        "",
    ]


def mismatch_data(
    combiner: str, made: CombinerMismatch, basis: str, visit: str, curve: bool = True
) -> dict[str, Any]:
    """The same for JSON, with the combiner's curve."""
    data: dict[str, Any] = {
        "combiner": combiner,
        "visit": visit,
        "basis": basis,
        "p_mp": made.p_mp,
        "v_mp": made.v_mp,
        "sum_of_maxima": made.sum_of_maxima,
        "loss": made.loss,
        "loss_fraction": made.loss_fraction,
        "sound_string": made.expected_from,
        "strings": [vars(one) for one in made.shares],
        "worst_first": list(made.worst_first),
        "gain_of_worst": list(made.gain_of_worst),
    }
    if curve:
        data["curve"] = {
            "voltage": made.curve.voltage.tolist(),
            "current": made.curve.current.tolist(),
        }
    return data
