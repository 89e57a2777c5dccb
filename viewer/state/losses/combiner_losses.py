"""The mismatch of the combiner in view, kept until its traces change."""

from dataclasses import dataclass

from viewer.analysis.losses.mismatch import (
    CombinerMismatch,
    StringShare,
    combiner_mismatch,
    curves_of,
)
from viewer.analysis.results.counting_trace import counting_traces
from viewer.physics.nomenclature import with_minus
from viewer.state.session import Session


@dataclass(frozen=True, eq=False)
class CombinerLosses:
    """The combiner's mismatch, which curves it is from, and the trace of each string by name."""

    combiner: str
    mismatch: CombinerMismatch
    basis: str
    traces: dict[str, str]

    def worst_first(self) -> tuple[StringShare, ...]:
        """The strings, that first whose repair alone brings most."""
        return tuple(sorted(self.mismatch.shares, key=lambda one: -one.repair_gain))

    def repair_text(self, count: int) -> str:
        """What repairing the worst `count` strings together brings."""
        made = self.mismatch
        gain = made.gain_of_worst[count]
        names = ", ".join(made.worst_first[: min(count, 4)])
        more = f" and {count - 4} more" if count > 4 else ""
        return with_minus(
            f"brings {gain:+.0f} W ({100 * gain / made.p_mp:+.2f} % of the combiner): "
            f"{names}{more}. Sound: {made.expected_from}."
        )

    def summary(self) -> str:
        made = self.mismatch
        return (
            f"{made.p_mp:.0f} W at {made.v_mp:.0f} V in parallel; the {len(made.shares)} strings' "
            f"own maxima add up to {made.sum_of_maxima:.0f} W. Mismatch loss {made.loss:.0f} W "
            f"({100 * made.loss_fraction:.2f} %). Curves {self.basis}."
        )


class CombinerLossesOf:
    """Computes once for one set of traces."""

    def __init__(self) -> None:
        self._known: tuple[tuple[int, ...], CombinerLosses] | None = None

    def of(self, session: Session, combiner: str) -> CombinerLosses | None:
        """None where no string of the combiner was swept as a whole on the shown visit."""
        counting = counting_traces(session.results_of(combiner))
        latest = {string: one for (_, string), one in counting.items()}
        if not latest:
            return None
        key = tuple(id(one) for one in latest.values())
        if self._known is None or self._known[0] != key:
            curves, basis = curves_of(list(latest.values()))
            if not curves:
                return None
            made = CombinerLosses(
                combiner,
                combiner_mismatch(curves),
                basis,
                {name: one.trace.source for name, one in latest.items()},
            )
            self._known = key, made
        return self._known[1]
