"""Warranty checks as a table of text lines and as plain data for JSON."""

from typing import Any

from viewer.analysis.years.warranty import (
    ABOVE,
    BELOW,
    INCONCLUSIVE,
    LIMIT_OF_STRINGS,
    RULE,
    WarrantyCheck,
    WarrantyFindings,
)
from viewer.physics.nomenclature import counted
from viewer.reports.plain_table import aligned

LEAST_PRINTED = 0.01
"""Of a finding: fewer are not counted out."""


def warranty_lines(found: WarrantyFindings) -> list[str]:
    """The table, the totals, the rule, and what the result does not prove."""
    lines = [*_table(found), ""] if found.checks else []
    lines += list(found.unchecked)
    if not found.checks:
        return lines
    lines.append(
        f"{found.count(BELOW)} below, {found.count(INCONCLUSIVE)} inconclusive, "
        f"{found.count(ABOVE)} above the warranted power."
    )
    if found.modules_concerned:
        lines.append(shortfall_text(found))
    lines.append(RULE)
    if any(one.modules > 1 for one in found.checks):
        lines.append(LIMIT_OF_STRINGS)
    return lines


def shortfall_text(found: WarrantyFindings) -> str:
    """What lies below the warranted power, how much it lacks, and how much of it is chance."""
    modules = found.modules_concerned
    together = ", together" if modules > 1 else ""
    return (
        f"Below: {counted(modules, 'module')}{together} short of {found.shortfall:.0f} ± "
        f'{found.shortfall_expanded:.0f} W (k = 2). Findings "below" that would be wrong on '
        f"average: {wrong_on_average(found)}."
    )


def wrong_on_average(found: WarrantyFindings) -> str:
    """How many of the findings "below" would be wrong; never printed as none."""
    wrong = found.expected_false
    return f"{wrong:.2f}" if wrong >= LEAST_PRINTED / 2 else f"less than {LEAST_PRINTED}"


def _table(found: WarrantyFindings) -> list[str]:
    headings = [
        "Combiner",
        "String",
        "Serial",
        "Age a",
        "Modules",
        "Measured W",
        "± (k=2)",
        "Warranted W",
        "Short W",
        "P(below)",
        "Decision",
    ]
    rows = [
        [
            *one.place,
            one.serial or "–",
            f"{one.age:.1f}",
            str(one.modules),
            f"{one.measured:.1f}",
            f"{one.expanded:.1f}",
            f"{one.warranted:.1f}",
            f"{one.shortfall:.1f}",
            _percent(one.below_probability),
            one.decision,
        ]
        for one in found.checks
    ]
    return aligned(headings, rows, set(headings[3:10]))


def _percent(share: float) -> str:
    """With one decimal; what is only nearly certain is not called so."""
    percent = f"{100 * share:.1f} %"
    return {"100.0 %": "> 99.9 %", "0.0 %": "< 0.1 %"}.get(percent, percent)


def warranty_data(found: WarrantyFindings) -> dict[str, Any]:
    """The same as plain data; powers in W at STC."""
    return {
        "rule": RULE,
        "checks": [_check_data(one) for one in found.checks],
        "below": found.count(BELOW),
        "inconclusive": found.count(INCONCLUSIVE),
        "above": found.count(ABOVE),
        "modules_concerned": found.modules_concerned,
        "shortfall": found.shortfall,
        "shortfall_expanded_uncertainty": found.shortfall_expanded,
        "expected_false": found.expected_false,
        "unchecked": list(found.unchecked),
    }


def _check_data(one: WarrantyCheck) -> dict[str, Any]:
    return {
        "combiner": one.place[0],
        "string": one.place[1],
        "serial": one.serial,
        "module": one.module_type,
        "measured_on": one.measured_on.isoformat(),
        "age": one.age,
        "modules": one.modules,
        "measured": one.measured,
        "expanded_uncertainty": one.expanded,
        "warranted": one.warranted,
        "shortfall": one.shortfall,
        "probability_below": one.below_probability,
        "decision": one.decision,
    }
