"""Desks: which panes lie on the table for one kind of work; a pane may lie on several."""

from collections.abc import Callable
from dataclasses import dataclass

from viewer.app.window.pane_docks import BOTTOM_SHARE, PaneDocks
from viewer.state.actions import Action
from viewer.state.program.notifier import Value


@dataclass(frozen=True)
class Desk:
    """`panes` by their ids, the one brought to the front first among those sharing a tab bar.

    `lower` is the part of the window's height that the panes under the plot are given at first:
    much where forms and tables are the work, little where the curves are.
    """

    id: str
    title: str
    meaning: str
    shortcut: str
    panes: tuple[str, ...]
    lower: float


DESKS: tuple[Desk, ...] = (
    Desk(
        "compare",
        "Compare",
        "Strings against their prediction and each other",
        "Alt+1",
        (
            "strings",
            "heat_grid",
            "key_points",
            "findings",
            "mismatch",
            "overview",
            "sweep",
            "unreadable",
        ),
        BOTTOM_SHARE,
    ),
    Desk(
        "before_visit",
        "Before a visit",
        "Electrical limits, good hours, which strings to trace, readings to expect",
        "Alt+2",
        ("strings", "limits", "good_hours", "sample", "at_the_string"),
        0.54,
    ),
    Desk(
        "years",
        "Over the years",
        "Rates, changes against a visit, warranty, notes and repairs",
        "Alt+3",
        ("strings", "heat_grid", "years", "changes", "warranty", "notes"),
        0.52,
    ),
    Desk(
        "modules",
        "Modules",
        "Datasheets, their models, and what a sweep tells by itself",
        "Alt+4",
        ("strings", "datasheet", "sweep"),
        0.5,
    ),
    Desk(
        "report",
        "Report",
        "Documents, texts and annotated plots",
        "Alt+5",
        ("strings", "report", "findings", "notes"),
        0.55,
    ),
)


class Desks:
    """Lays out one desk at a time; a pane opened besides stays until the next desk is chosen."""

    def __init__(
        self,
        docks: PaneDocks,
        leave_lesson: Callable[[], object],
        in_lesson: Callable[[], bool],
    ) -> None:
        self._docks = docks
        self._leave_lesson = leave_lesson
        self._in_lesson = in_lesson
        self.current: Value[str] = Value(DESKS[0].id)
        self._shares: dict[str, float] = {}
        """Of each desk that was left: the height its lower panes had, as people pulled it."""

    def open(self, name: str) -> None:
        """Show that desk's panes and put the others away; what floats stays."""
        self._leave_lesson()
        if name != self.current.value:
            self._shares[self.current.value] = self._docks.lower_share()
        desk = self._put_on_table(name)
        if name != self.current.value:
            self._docks.give_lower_share(self._shares.get(name, desk.lower))
        self.current.value = name

    def as_at_first(self) -> None:
        """Every pane back to where it was at first, the current desk's in sight."""
        self._leave_lesson()
        self._shares.clear()
        self._docks.default_layout()
        self._docks.share_out(self._put_on_table(self.current.value).lower)

    def _put_on_table(self, name: str) -> Desk:
        desk = next(one for one in DESKS if one.id == name)
        docked = [pair for pair in self._docks.by_id.items() if not pair[1].isFloating()]
        for pane, dock in docked:
            if pane in desk.panes:
                dock.show()
        first = next((one for one in desk.panes if self._is_tabbed(one)), None)
        if first is not None:
            self._docks.show(first)
        for pane, dock in docked:  # last, since what comes to the front is made
            if pane not in desk.panes:
                dock.hide()
        return desk

    def _is_tabbed(self, name: str) -> bool:
        return name in self._docks.by_id and name not in ("strings", "heat_grid")

    def actions(self) -> list[Action]:
        """One action a desk, for the menu, the tool bar and the keys."""
        return [self._action(desk) for desk in DESKS]

    def _action(self, desk: Desk) -> Action:
        return Action(
            f"desk_{desk.id}",
            desk.title,
            "View",
            lambda _: self.open(desk.id),
            desk.shortcut,
            desk.meaning,
            checked=lambda _: self.current.value == desk.id and not self._in_lesson(),
            group="desks",
        )
