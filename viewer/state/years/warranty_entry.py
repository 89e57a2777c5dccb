"""Warranty terms as they are typed in, checked like those of a site.toml; the checks as rows."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from viewer.analysis.years.warranty import (
    ABOVE,
    BELOW,
    LIMIT_OF_STRINGS,
    RULE,
    WarrantyCheck,
    WarrantyFindings,
    check_warranty,
)
from viewer.reports.curve_figure import place_name
from viewer.reports.warranty_table import shortfall_text
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.toml_table import Findings, Table
from viewer.site_data.warranty_terms import WarrantyTerms, read_warranty
from viewer.state.years.over_years import Years

SHAPES: dict[str, str] = {BELOW: "▼", ABOVE: "▲"}
"""A shape beside the decision's word; an inconclusive one has the open circle."""


@dataclass(frozen=True)
class EnteredTerms:
    """What was typed. `steps` such as "10:90, 25:80" goes before the linear terms."""

    first_year: float = 2.0
    annual: float = 0.55
    years: float = 25.0
    steps: str = ""
    start: date | None = None
    rated_power: float | None = None


def read_terms(entered: EnteredTerms) -> WarrantyTerms:
    """The terms as a record. Raises ValueError with one sentence."""
    data: dict[str, Any] = {"years": entered.years}
    if entered.steps.strip():
        data = {"steps": [read_step(pair) for pair in entered.steps.split(",") if pair.strip()]}
    else:
        data |= {"first_year": entered.first_year, "annual": entered.annual}
    if entered.start is not None:
        data["start"] = entered.start
    if entered.rated_power is not None:
        data["rated_power"] = entered.rated_power
    return terms_from(data)


def terms_from(data: dict[str, Any]) -> WarrantyTerms:
    """Terms from the keys of [module.KEY.warranty]. Raises ValueError with one sentence."""
    findings = Findings("the terms", {(): 1})
    terms = read_warranty(Table(data, (), "the warranty", findings))
    if terms is None:
        raise ValueError(findings.problems[0].partition(": ")[2])
    return terms


def read_step(pair: str) -> list[float]:
    """AGE:PERCENT as two numbers. Raises ValueError with one sentence."""
    try:
        age, share = pair.split(":")
        return [float(age), float(share)]
    except ValueError:
        raise ValueError(
            f"{pair.strip()} is not a step; write AGE:PERCENT, such as 10:90"
        ) from None


def as_entered(terms: WarrantyTerms | None) -> EnteredTerms:
    """Known terms in the form in which they are typed."""
    if terms is None:
        return EnteredTerms()
    steps = ", ".join(f"{age:g}:{share:g}" for age, share in terms.steps)
    return EnteredTerms(
        terms.first_year, terms.annual, terms.years, steps, terms.start, terms.rated_power
    )


def terms_in_force(
    layout: SiteLayout | None, entered: Mapping[str, WarrantyTerms], module: str
) -> WarrantyTerms | None:
    """The terms entered for a module, else those of its datasheet."""
    if module in entered:
        return entered[module]
    sheet = layout.modules.get(module) if layout else None
    return sheet.warranty if sheet else None


def warranty_findings(years: Years, entered: Mapping[str, WarrantyTerms]) -> WarrantyFindings:
    """The latest trace of every string against its warranty."""
    return check_warranty(years.observed.observations, years.layout, entered)


def probability_words(share: float) -> str:
    """In whole percent; what is only nearly certain is not called so."""
    percent = round(100 * share)
    if percent >= 100:
        return "> 99 %"
    return f"{percent} %" if percent > 0 else "< 1 %"


def warranty_cells(one: WarrantyCheck) -> tuple[str, ...]:
    """The printed cells of one check."""
    name = place_name(one.place)
    shape = SHAPES.get(one.decision, "○")
    short = f"{one.shortfall:.0f}" if one.shortfall > 0 else "–"
    return (
        name,
        f"{shape} {one.decision}",
        f"{one.measured:.0f} ± {one.expanded:.0f}",
        f"{one.warranted:.0f}",
        short,
        probability_words(one.below_probability),
        f"{one.age:.1f}",
        one.serial or "–",
    )


def warranty_sentences(found: WarrantyFindings) -> list[str]:
    """Counts, the shortfall, the rule by its name, and what is not proved."""
    said: list[str] = []
    if found.checks:
        below, above = found.count(BELOW), found.count(ABOVE)
        unsettled = len(found.checks) - below - above
        said.append(f"{below} below, {unsettled} inconclusive, {above} above the warranted power.")
    if found.modules_concerned:
        said.append(shortfall_text(found))
    said += found.unchecked
    if found.checks:
        said.append(RULE)
        if any(one.modules > 1 for one in found.checks):
            said.append(LIMIT_OF_STRINGS)
    return said
