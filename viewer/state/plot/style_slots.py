"""Which curve has which style, so that a curve keeps its look while others come and go."""

from collections.abc import Collection, Iterable, Sequence
from math import inf

from viewer.analysis.results.trace_result import TraceResult


class StyleSlots:
    """Hands out style numbers 0, 1, ... to the first few traces and remembers them."""

    def __init__(self) -> None:
        self._slots: dict[str, int] = {}

    def assign(self, ids: Sequence[str], count: int, current: str | None = None) -> dict[str, int]:
        """Style numbers below `count` for some of `ids`; the current trace always has one."""
        wanted = set(ids)
        kept = {one: slot for one, slot in self._slots.items() if one in wanted and slot < count}
        first = [current] if current in wanted and current is not None else []
        for one in (*first, *ids):
            if one in kept:
                continue
            if len(kept) == count:
                if one != current:
                    break
                kept.pop(next(reversed(kept)))
            free = next(slot for slot in range(count) if slot not in kept.values())
            kept[one] = free
        self._slots = kept
        return dict(kept)


def named_first(results: Iterable[TraceResult], pinned: Collection[str]) -> list[str]:
    """Ids of the traces in the order in which they get a style of their own.

    Pinned ones first, then those furthest below their prediction: where a whole combiner is shown
    these are looked for, and the others are a thin grey sheaf.
    """

    def place(result: TraceResult) -> tuple[bool, float]:
        ratio = result.power_ratio
        return result.trace.source not in pinned, inf if ratio is None else ratio

    return [one.trace.source for one in sorted(results, key=place)]
