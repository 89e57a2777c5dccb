"""Which traces are selected, which one is current, and which are pinned; all panes share it."""

from collections.abc import Iterable

from viewer.state.program.notifier import Notifier


class Selection:
    """Trace ids in the order they were selected, without repetition.

    `current` is the one the detail panes describe: always one of `ids`, or None when
    nothing is selected. Pinned traces stay on the plot whatever is selected.
    """

    def __init__(self) -> None:
        self.changed = Notifier()
        self._ids: tuple[str, ...] = ()
        self._current: str | None = None
        self._pinned: tuple[str, ...] = ()

    @property
    def ids(self) -> tuple[str, ...]:
        return self._ids

    @property
    def current(self) -> str | None:
        return self._current

    @property
    def pinned(self) -> tuple[str, ...]:
        return self._pinned

    @property
    def shown(self) -> tuple[str, ...]:
        """What the plot draws: the pinned traces first, then the selected ones."""
        return tuple(dict.fromkeys(self._pinned + self._ids))

    def choose(self, ids: Iterable[str], current: str | None = None) -> None:
        """Select exactly `ids`; the current one stays if it is among them, else the last is."""
        chosen = tuple(dict.fromkeys(ids))
        if current not in chosen:
            current = self._current
        if current not in chosen:
            current = chosen[-1] if chosen else None
        self._become(chosen, current, self._pinned)

    def toggle(self, trace_id: str) -> None:
        """Add the trace to the selection and make it current, or take it out."""
        if trace_id in self._ids:
            self.choose(one for one in self._ids if one != trace_id)
        else:
            self.choose((*self._ids, trace_id), current=trace_id)

    def clear(self) -> None:
        self._become((), None, self._pinned)

    def pin(self, trace_id: str, pinned: bool = True) -> None:
        rest = tuple(one for one in self._pinned if one != trace_id)
        self._become(self._ids, self._current, (*rest, trace_id) if pinned else rest)

    def unpin_all(self) -> None:
        self._become(self._ids, self._current, ())

    def forget(self) -> None:
        """Drop everything: another site was opened."""
        self._become((), None, ())

    def _become(self, ids: tuple[str, ...], current: str | None, pinned: tuple[str, ...]) -> None:
        if (ids, current, pinned) == (self._ids, self._current, self._pinned):
            return
        self._ids, self._current, self._pinned = ids, current, pinned
        self.changed.notify()
