"""How one trace stands, in a word and a sentence: the triage that lists and grids show."""

from dataclasses import dataclass

from viewer.analysis.trace_result import TraceResult
from viewer.state.settings import Settings


@dataclass(frozen=True)
class Standing:
    """`level` is one of LEVELS; `words` say it to people in a few words."""

    level: str
    words: str

    @property
    def rank(self) -> int:
        return LEVELS.index(self.level)


LEVELS: tuple[str, ...] = ("short", "watch", "unsure", "expected", "unknown")
"""From most to least in need of a look."""


def standing(result: TraceResult, settings: Settings) -> Standing:
    """Judge by the power ratio; a failed test-condition check makes a verdict unsure."""
    ratio = result.power_ratio
    if ratio is None:
        return Standing("unknown", "no prediction")
    if any(not check.passed for check in result.conditions.checks):
        return Standing("unsure", "check conditions")
    if ratio < settings.short_below:
        return Standing("short", f"short by {100 * (1 - ratio):.1f} %")
    if ratio < settings.watch_below:
        return Standing("watch", f"watch, {100 * (1 - ratio):.1f} % low")
    return Standing("expected", "as expected")
