"""What the engineer found to be true: confirmed causes, corrective action, and the gain of it."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from viewer.analysis.results.trace_result import CAUSES, TraceResult
from viewer.physics.nomenclature import counted
from viewer.site_data.visit_grouping import comparable

LEAST_GAIN_TO_TELL = 1.0
"""In expanded uncertainties: a smaller change of the power ratio is no change."""


@dataclass(frozen=True)
class Confirmation:
    """One finding settled in the field.

    trace: source of the trace it is about. suggested: the first cause the analysis gave.
    confirmed: what it turned out to be (one of CAUSES). action: what was done. parts: part or
    serial numbers put in or taken out. retest: source of the trace after the repair.
    """

    trace: str
    suggested: str
    confirmed: str
    action: str = ""
    parts: tuple[str, ...] = ()
    author: str | None = None
    confirmed_at: datetime | None = None
    retest: str | None = None

    def __post_init__(self) -> None:
        for cause in (self.suggested, self.confirmed):
            if cause not in CAUSES:
                raise ValueError(f"{cause!r} is no cause; write one of {', '.join(CAUSES)}.")

    @property
    def agreed(self) -> bool:
        return self.suggested == self.confirmed

    def as_dict(self) -> dict[str, Any]:
        """For JSON and the site file."""
        values = asdict(self)
        values["parts"] = list(self.parts)
        values["confirmed_at"] = self.confirmed_at.isoformat() if self.confirmed_at else None
        return values

    @classmethod
    def from_dict(cls, values: dict[str, Any]) -> "Confirmation":
        """The inverse of `as_dict`. Raises ValueError for a cause that is none."""
        moment = values.get("confirmed_at")
        return cls(
            trace=values["trace"],
            suggested=values["suggested"],
            confirmed=values["confirmed"],
            action=values.get("action") or "",
            parts=tuple(values.get("parts") or ()),
            author=values.get("author"),
            confirmed_at=datetime.fromisoformat(moment) if moment else None,
            retest=values.get("retest"),
        )


def confirm(result: TraceResult, cause: str | None = None, action: str = "") -> Confirmation:
    """A confirmation of a result's first cause, or of `cause` where the engineer corrects it."""
    first = result.candidate_causes[0].cause if result.candidate_causes else "none"
    return Confirmation(result.trace.source, first, cause or first, action)


@dataclass(frozen=True)
class RepairGain:
    """Before and after a repair: power ratios, and power at STC [W] where both are translated.

    `certain` is whether the power ratio changed by more than the uncertainty of the change.
    """

    ratio_before: float
    ratio_after: float
    ratio_gain: float
    uncertainty: float | None
    """Of the gain, expanded (k = 2)."""
    watt_gain: float | None
    certain: bool
    cleared: tuple[str, ...]
    remaining: tuple[str, ...]
    """Signature kinds that went away, and those that are still there."""

    def text(self) -> str:
        """The gain in one sentence."""
        told = []
        if self.ratio_before > 0.0:
            told.append(f"power {100 * self.ratio_gain / self.ratio_before:+.1f} %")
        if self.watt_gain is not None:
            told.append(f"{self.watt_gain:+.0f} W at STC")
        change = (
            f"The power ratio went from {self.ratio_before:.3f} to {self.ratio_after:.3f}, by "
            f"{self.ratio_gain:+.3f}" + (f" ({', '.join(told)})" if told else "")
        )
        if self.uncertainty is not None and not self.certain:
            return f"{change}, which is within its uncertainty of ± {self.uncertainty:.3f}."
        return f"{change}."


def repair_gain(before: TraceResult, after: TraceResult) -> RepairGain:
    """What a repair brought. Raises ValueError when the traces cannot be compared."""
    if (before.trace.combiner, before.trace.string) != (after.trace.combiner, after.trace.string):
        raise ValueError(
            f"{after.trace.source} is a trace of another string than {before.trace.source}."
        )
    was_at, is_at = before.trace.measured_at, after.trace.measured_at
    if was_at is not None and is_at is not None and comparable(is_at) <= comparable(was_at):
        raise ValueError(f"{after.trace.source} was not measured after {before.trace.source}.")
    if before.power_ratio is None or after.power_ratio is None:
        raise ValueError("A repair can be judged only where both traces have a prediction.")
    gain = after.power_ratio - before.power_ratio
    parts = (before.power_ratio_uncertainty, after.power_ratio_uncertainty)
    known = [u for u in parts if u is not None]
    uncertainty = sum(u**2 for u in known) ** 0.5 if len(known) == 2 else None
    watt = None
    if before.translated is not None and after.translated is not None:
        watt = after.translated.p_mp - before.translated.p_mp
    was, now = _kinds(before), _kinds(after)
    certain = uncertainty is not None and abs(gain) > LEAST_GAIN_TO_TELL * uncertainty
    return RepairGain(
        before.power_ratio,
        after.power_ratio,
        gain,
        uncertainty,
        watt,
        certain,
        tuple(kind for kind in was if kind not in now),
        now,
    )


def _kinds(result: TraceResult) -> tuple[str, ...]:
    return tuple(dict.fromkeys(signature.kind for signature in result.signatures))


@dataclass(frozen=True)
class FieldRecord:
    """How suggestions fared: rows (suggested, confirmed, count), and the share that agreed."""

    rows: tuple[tuple[str, str, int], ...]
    settled: int
    agreed: int

    def text(self) -> str:
        if not self.settled:
            return "No finding of this site has been settled in the field yet."
        return (
            f"Of {counted(self.settled, 'finding')} settled in the field, {self.agreed} "
            f"{'was' if self.agreed == 1 else 'were'} as first suggested "
            f"({100 * self.agreed / self.settled:.0f} %)."
        )


def field_record(confirmations: Iterable[Confirmation]) -> FieldRecord:
    """Counts over all confirmations, most frequent first."""
    every = list(confirmations)
    counts = Counter((one.suggested, one.confirmed) for one in every)
    rows = tuple((s, c, n) for (s, c), n in counts.most_common())
    return FieldRecord(rows, len(every), sum(one.agreed for one in every))
