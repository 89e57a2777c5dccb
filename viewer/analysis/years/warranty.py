"""Measured power at STC against the power a module's maker warrants at that age.

Decision rule: ILAC-G8:09/2019, non-binary statement with a guard band of w = U, the expanded
uncertainty (k = 2): "below" only when the whole interval lies below the warranted power, "above"
only when it lies above; the guide's two conditional statements between them are one here,
"inconclusive". The probability beside it is that of JCGM 106:2012
for a normal distribution about the measured value.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import hypot, sqrt

from scipy.special import ndtr

from viewer.analysis.years.observation import DAYS_A_YEAR, Observation
from viewer.physics.nomenclature import counted
from viewer.physics.uncertainty.uncertainty import COVERAGE
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.warranty_terms import WarrantyTerms

NO_TERMS, NO_START = "no warranty terms", "no start of the warranty"
BELOW, INCONCLUSIVE, ABOVE = "below", "inconclusive", "above"

RULE = (
    "Decision rule: guard band equal to the expanded uncertainty U (k = 2) on both sides of the "
    "warranted power (ILAC-G8:09/2019, non-binary statement; probabilities after JCGM 106:2012)."
)
LIMIT_OF_STRINGS = (
    "A string's power also holds the mismatch of its modules, cables and connectors and any fault "
    "in it: a string below points to modules to be traced one by one, it proves no claim for them."
)

REAR_UNKNOWN = (
    "no rear irradiance was recorded for a bifacial module, so that its power at STC comes out too "
    "high to say that it is not below"
)


def warranted_share(terms: WarrantyTerms, age: float) -> float | None:
    """Warranted power at an age [years] in % of rated power; None outside the warranty.

    Linear terms fall straight from the end of the first year; during it what is warranted for
    its end holds. In steps, each percentage holds up to and including its age.
    """
    if age < 0 or age > terms.end:
        return None
    if terms.steps:
        return next(share for until, share in terms.steps if age <= until)
    return 100.0 - terms.first_year - terms.annual * max(0.0, age - 1.0)


@dataclass(frozen=True)
class WarrantyCheck:
    """One traced string or module against its warranty; powers in W at STC.

    source: the trace; modules: how many modules `measured` is the power of; uncertainty:
    standard (k = 1), of which `common` is shared by everything traced on that visit;
    below_probability: that the true power lies below the warranted one.
    """

    place: tuple[str, str]
    serial: str | None
    module_type: str
    measured_on: date
    age: float
    modules: int
    measured: float
    uncertainty: float
    common: float
    warranted: float
    decision: str
    below_probability: float
    source: str

    @property
    def expanded(self) -> float:
        return COVERAGE * self.uncertainty

    @property
    def shortfall(self) -> float:
        """Warranted less measured, W; negative where more was measured."""
        return self.warranted - self.measured


@dataclass(frozen=True)
class WarrantyFindings:
    """All checks, what is short in total, and why the rest could not be checked.

    modules_concerned: modules traced in whatever is below; shortfall [W] of these with its
    expanded uncertainty (k = 2); expected_false: how many of the findings "below" would be
    wrong on average, from each one's probability.
    """

    checks: tuple[WarrantyCheck, ...]
    modules_concerned: int
    shortfall: float
    shortfall_expanded: float
    expected_false: float
    unchecked: tuple[str, ...]
    lacks_terms: bool = False
    """Whether something was not checked for want of warranty terms."""

    def count(self, decision: str) -> int:
        return sum(one.decision == decision for one in self.checks)


def decide(measured: float, expanded: float, warranted: float) -> str:
    """BELOW, INCONCLUSIVE or ABOVE with a guard band of the expanded uncertainty."""
    if measured + expanded < warranted:
        return BELOW
    if measured - expanded > warranted:
        return ABOVE
    return INCONCLUSIVE


def below_probability(measured: float, uncertainty: float, warranted: float) -> float:
    """Probability that the true value lies below the limit, JCGM 106:2012, 7.2 (normal)."""
    return float(ndtr((warranted - measured) / uncertainty))


def check_warranty(
    observations: Sequence[Observation],
    layout: SiteLayout,
    terms: Mapping[str, WarrantyTerms] | None = None,
    start: date | None = None,
) -> WarrantyFindings:
    """The latest trace of every string or single module against its warranty.

    terms: by module key, in place of those in the layout; start: of the warranty where the terms
    give none. Cleaned traces are preferred on the latest visit: soiling is not the maker's.
    """
    checks: list[WarrantyCheck] = []
    unchecked: dict[str, int] = {}
    for one in _latest(observations):
        found = _check(one, layout, terms or {}, start)
        if isinstance(found, WarrantyCheck):
            checks.append(found)
        else:
            unchecked[found] = unchecked.get(found, 0) + 1
    short = [one for one in checks if one.decision == BELOW]
    return WarrantyFindings(
        checks=tuple(checks),
        modules_concerned=sum(one.modules for one in short),
        shortfall=sum(one.shortfall for one in short),
        shortfall_expanded=COVERAGE * _sum_uncertainty(short),
        expected_false=sum(1.0 - one.below_probability for one in short),
        unchecked=tuple(
            f"{counted(count, 'trace')} not checked: {reason}."
            for reason, count in sorted(unchecked.items())
        ),
        lacks_terms=any(one.startswith((NO_TERMS, NO_START)) for one in unchecked),
    )


def _sum_uncertainty(checks: Sequence[WarrantyCheck]) -> float:
    """Of the sum: what is common adds up straight, the rest by squares."""
    common = sum(one.common for one in checks)
    own = sum(one.uncertainty**2 - one.common**2 for one in checks)
    return hypot(common, sqrt(max(own, 0.0)))


def _latest(observations: Sequence[Observation]) -> list[Observation]:
    chosen: dict[tuple[str, str, str | None], tuple[tuple[int, bool, float], Observation]] = {}
    for one in observations:
        key, rank = (one.combiner, one.string, one.serial), _rank(one)
        known = chosen.get(key)
        if known is None or rank >= known[0]:
            chosen[key] = rank, one
    return [one for _, one in chosen.values()]


def _rank(one: Observation) -> tuple[int, bool, float]:
    return one.visit, bool(one.cleaned), one.years


def _check(
    one: Observation,
    layout: SiteLayout,
    terms: Mapping[str, WarrantyTerms],
    start: date | None,
) -> WarrantyCheck | str:
    """The check, or why there is none."""
    sheet = layout.modules.get(one.module_type)
    string = layout.string(*one.place)
    if sheet is None or string is None:
        return "there is no datasheet for it"
    own_terms = terms.get(one.module_type) or sheet.warranty
    if own_terms is None:
        return f"{NO_TERMS} for module {one.module_type}"
    if own_terms.start is None:
        own_terms = replace(own_terms, start=start)
    if own_terms.start is None:
        return f"{NO_START} for module {one.module_type}"
    age = (one.measured_at.date() - own_terms.start).days / DAYS_A_YEAR
    if age < 0:
        return f"measured before the warranty began on {own_terms.start.isoformat()}"
    share = warranted_share(own_terms, age)
    if share is None:
        return f"measured at an age of {age:.1f} years, outside the warranty's {own_terms.end:g}"
    modules = string.modules_in_series * string.strings_in_parallel
    checked = _checked(one, sheet, own_terms, age, share, modules)
    if one.rear_unknown and checked.decision != BELOW:
        return REAR_UNKNOWN
    return checked


def _checked(
    one: Observation,
    sheet: Datasheet,
    terms: WarrantyTerms,
    age: float,
    share: float,
    modules: int,
) -> WarrantyCheck:
    measured = one.values["p_mp"]
    shares = one.uncertainty["p_mp"]
    relative = max(shares.total, one.power_uncertainty)
    beyond = sqrt(relative**2 - shares.total**2)  # by what strings of one type have in common
    uncertainty = relative * measured
    warranted = modules * (terms.rated_power or sheet.p_mp) * share / 100
    return WarrantyCheck(
        place=one.place,
        serial=one.serial,
        module_type=one.module_type,
        measured_on=one.measured_at.date(),
        age=age,
        modules=modules,
        measured=measured,
        uncertainty=uncertainty,
        common=hypot(shares.common, beyond) * measured,
        warranted=warranted,
        decision=decide(measured, COVERAGE * uncertainty, warranted),
        below_probability=below_probability(measured, uncertainty, warranted),
        source=one.source,
    )
