"""The power a module's maker warrants over the years, as the warranty's text states it."""

from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from viewer.site_data.toml_table import Table


@dataclass(frozen=True)
class WarrantyTerms:
    """Power warranty of one module type; linear, or in steps.

    Linear: at most `first_year` [% of rated power] lost in the first year, `annual` [percentage
    points a year] thereafter, for `years`. Steps: pairs (age in years, % of rated power), each
    warranted until that age. `start` is when the warranty began, `rated_power` [W] what its
    percentages refer to (the datasheet's Pmp when None).
    """

    first_year: float = 0.0
    annual: float = 0.0
    years: float = 25.0
    steps: tuple[tuple[float, float], ...] = ()
    start: date | None = None
    rated_power: float | None = None

    @property
    def end(self) -> float:
        """The age at which the warranty ends, years."""
        return self.steps[-1][0] if self.steps else self.years


KEYS = ("first_year", "annual", "years", "steps", "start", "rated_power")


def read_warranty(table: Table) -> WarrantyTerms | None:
    """The terms from a site.toml table [module.KEY.warranty]; None after a problem was noted."""
    table.check_keys(KEYS)
    linear = "steps" not in table
    terms = WarrantyTerms(
        first_year=table.number("first_year", "% lost", None if linear else 0.0),
        annual=table.number("annual", "percentage points lost a year", None if linear else 0.0),
        years=table.number("years", "years", WarrantyTerms.years),
        steps=() if linear else _steps(table),
        start=_start(table),
        rated_power=table.number("rated_power", "W") if "rated_power" in table else None,
    )
    table.within("first_year", 0, 50)
    table.within("annual", 0, 10)
    table.within("years", 1, 60)
    table.within("rated_power", 1, 5000)
    return terms if table.complete else None


def _steps(table: Table) -> tuple[tuple[float, float], ...]:
    """Ages rising and percentages falling, or () after a problem was noted."""
    steps: list[tuple[float, float]] = []
    for pair in table.rows("steps"):
        numbers = pair if isinstance(pair, list) else []
        if len(numbers) != 2 or not all(_is_number(value) for value in numbers):
            return _wrong_steps(table, "each step is a pair of numbers")
        steps.append((float(numbers[0]), float(numbers[1])))
    if not steps:
        return _wrong_steps(table, "it has no step")
    for (age, share), (next_age, next_share) in pairwise(steps):
        if next_age <= age or next_share >= share:
            return _wrong_steps(table, "ages must rise and percentages fall")
    if steps[0][0] <= 0 or not all(0 < share <= 100 for _, share in steps):
        return _wrong_steps(table, "ages are above 0 and percentages from 0 to 100")
    return tuple(steps)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _wrong_steps(table: Table, why: str) -> tuple[tuple[float, float], ...]:
    table.complete = False
    table.findings.problem(
        (*table.place, "steps"),
        f"steps of {table.what}: {why}; write years and the warranted % until then, "
        "steps = [[10, 90], [25, 80]].",
    )
    return ()


def _start(table: Table) -> date | None:
    value = table.data.get("start")
    if value is None or type(value) is date:
        return value
    table.complete = False
    table.findings.problem(
        (*table.place, "start"),
        f"start of {table.what} is not a date; write it without quotes, start = 2020-06-30.",
    )
    return None
