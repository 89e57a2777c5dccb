"""How one trace stands, in a word and a sentence: the triage that lists and grids show."""

from dataclasses import dataclass

from viewer.analysis.conditions.reading_checks import REAR_CHECK
from viewer.analysis.results.trace_result import TraceResult
from viewer.state.program.settings import Settings
from viewer.state.strings.signature_words import KIND_HEADINGS


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
    """Judge by the power ratio and by what the curve's shape shows.

    A failed test-condition check makes a verdict unsure, but for one that could only have hidden
    a loss; a shape that differs is worth a look
    even when no power is lost yet.
    """
    ratio = result.power_ratio
    if ratio is None:
        return Standing("unknown", "no prediction")
    by_power = standing_by_power(ratio, settings)
    failed = {check.check for check in result.conditions.checks if not check.passed}
    if by_power.level == "short":
        failed.discard(REAR_CHECK)
    if failed:
        return Standing("unsure", "check conditions")
    if by_power.level == "expected" and result.signatures:
        words = KIND_HEADINGS[result.signatures[0].kind]
        return Standing("watch", f"watch, {words[0].lower()}{words[1:]}")
    return by_power


def standing_by_power(ratio: float, settings: Settings) -> Standing:
    """Judge by the power ratio alone."""
    lost = f"{100 * (1 - ratio):.1f} %"
    if ratio < settings.short_below:
        return Standing("short", f"short by {lost}")
    if ratio < settings.watch_below:
        return Standing("watch", f"watch, −{lost}")
    return Standing("expected", "as expected")
