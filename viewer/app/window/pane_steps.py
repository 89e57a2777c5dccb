"""F6: the keyboard goes from pane to pane, and to the curves, without walking through each."""

from PySide6.QtWidgets import QApplication, QStackedWidget, QWidget

from viewer.app.window.pane_docks import PaneDocks
from viewer.state.actions import Action
from viewer.state.session import Session
from viewer.widgets.controls.reachable import reading_order


class PaneSteps:
    def __init__(self, middle: QStackedWidget, docks: PaneDocks) -> None:
        self._middle = middle
        self._docks = docks

    def actions(self) -> tuple[Action, ...]:
        return (
            Action(
                "next_pane",
                "Go to the next pane",
                "View",
                lambda _: self.step(1),
                "F6",
                "Give the keyboard to the next pane in sight",
                group="panes",
            ),
            Action(
                "previous_pane",
                "Go to the pane before",
                "View",
                lambda _: self.step(-1),
                "Shift+F6",
                "Give the keyboard to the pane in sight before this one",
                group="panes",
            ),
            Action(
                "float_pane",
                "Float or dock the pane in use",
                "View",
                self.float_or_dock,
                "Ctrl+F6",
                "Give the pane that has the keyboard a window of its own, or its place again",
                group="panes",
            ),
        )

    def in_sight(self) -> list[QWidget]:
        """The middle of the window, then what lies in the panes that can be seen."""
        panes = (self._docks.held(name) for name in self._docks.by_id)
        seen = (pane for pane in panes if pane is not None and _seen(pane))
        middle = self._middle.currentWidget()
        return [*([] if middle is None else [middle]), *seen]

    def step(self, by: int) -> None:
        places = self.in_sight()
        focus = QApplication.focusWidget()
        inside = [place for place, one in enumerate(places) if focus and one.isAncestorOf(focus)]
        start = inside[0] if inside else (-1 if by > 0 else 0)
        self._go_to(places[(start + by) % len(places)])

    def float_or_dock(self, session: Session) -> None:
        """As the button in its title does, which the keyboard does not reach."""
        name = self._docks.in_use()
        if name is None:
            session.message.value = "The keyboard is in no pane: F6 goes to the next one."
            return
        dock = self._docks.by_id[name]
        dock.setFloating(not dock.isFloating())
        self._docks.show(name)
        self._go_to(self._docks.widget(name))

    def _go_to(self, pane: QWidget) -> None:
        """What the pane says it is about, its focus proxy, or else the first thing in it."""
        pane.window().activateWindow()
        ready = (one for one in reading_order(pane) if one.isVisible() and one.isEnabled())
        (pane.focusProxy() or next(ready, pane)).setFocus()


def _seen(pane: QWidget) -> bool:
    """In front of its tab bar: the others of it are visible for Qt but hold no painted pixel."""
    return pane.isVisible() and not pane.visibleRegion().isEmpty()
