"""A sample plan as a list to take along and as plain data for JSON."""

import csv
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from viewer.analysis.years.sample_plan import PANEL, ROTATION, SUSPECT, PlannedString, SamplePlan
from viewer.analysis.years.sample_power import Detection
from viewer.physics.nomenclature import counted
from viewer.reports.plain_table import aligned
from viewer.site_data.cell_text import plain_cell
from viewer.site_data.whole_file import drafted

NO_MEAN_RATE = "Fewer than two strings stand for the site: no mean rate can be given."
REASONS: dict[str, str] = {
    PANEL: "panel, the same every year",
    ROTATION: "rotation",
    SUSPECT: "suspect, added",
}


def sampled_text(plan: SamplePlan) -> str:
    """How many strings stand for the site, and how many suspects are looked at besides."""
    share = 100 * len(plan.sampled) / plan.population
    added = counted(len(plan.strings) - len(plan.sampled), "suspect")
    return (
        f"Strings that stand for the site: {len(plan.sampled):,} of {plan.population:,} "
        f"({share:.1f} %); {added} added."
    )


def sample_lines(plan: SamplePlan, last: Mapping[tuple[str, str], str]) -> list[str]:
    """The strings in walking order with a box to tick; `last` names each one's last visit."""
    headings = ["", "No", "Combiner", "String", "Module", "Why", "Last traced"]
    rows = [
        ["[ ]", str(number), *_cells(one), last.get(one.place, "never")]
        for number, one in enumerate(plan.strings, start=1)
    ]
    return [
        f"{sampled_text(plan)} Seed {plan.seed}: the same seed and history give the same plan.",
        "Strings are live whenever light falls on them: qualified persons only, after local codes.",
        "",
        *aligned(headings, rows, {"No"}),
    ]


def write_sample_csv(file: Path, plan: SamplePlan, last: Mapping[tuple[str, str], str]) -> None:
    """One line a string in walking order. Raises OSError when it cannot be written."""
    with drafted(file) as draft, draft.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream)
        writer.writerow(["order", "combiner", "string", "module", "reason", "last_traced"])
        for number, one in enumerate(plan.strings, start=1):
            words = (*_cells(one), last.get(one.place, "never"))
            writer.writerow([number, *(plain_cell(word) for word in words)])


def _cells(one: PlannedString) -> list[str]:
    return [one.combiner, one.string, one.module_type, REASONS[one.reason]]


def power_lines(found: Sequence[Detection]) -> list[str]:
    """What the sample can show, for several spans of years."""
    if not found:
        return [NO_MEAN_RATE]
    first = found[0]
    rows = [
        [f"{one.span:g}", f"{one.half_width:.2f}", f"{one.smallest:.2f}", f"{one.floor:.2f}"]
        for one in found
    ]
    headings = ["Years between", "interval ±", "smallest loss shown", "all strings traced"]
    return [
        "",
        f"What two tracings of these {first.strings} strings can show, %/year of power: the "
        f"{100 * first.confidence:.0f} % interval,",
        f"and the loss that it will show with a probability of {100 * first.power:.0f} %; last, "
        "the same with every string traced.",
        *aligned(headings, rows, set(headings)),
    ]


def sample_data(
    plan: SamplePlan, last: Mapping[tuple[str, str], str], found: Sequence[Detection]
) -> dict[str, Any]:
    """The same as plain data."""
    return {
        "seed": plan.seed,
        "population": plan.population,
        "strings": [
            {
                "number": number,
                "combiner": one.combiner,
                "string": one.string,
                "module": one.module_type,
                "reason": one.reason,
                "last_traced": last.get(one.place),
            }
            for number, one in enumerate(plan.strings, start=1)
        ],
        "detectable": [
            {
                "years": one.span,
                "strings": one.strings,
                "half_width": one.half_width,
                "smallest_loss": one.smallest,
                "smallest_loss_all_strings": one.floor,
                "confidence": one.confidence,
                "power": one.power,
            }
            for one in found
        ],
    }
