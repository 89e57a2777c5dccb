"""The table of actions as QActions: menus, keys, ticks and what is enabled."""

from collections.abc import Iterable, Sequence

from PySide6.QtCore import QObject
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMenu, QMenuBar

from viewer.state.actions import Action
from viewer.state.session import Session
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.icons import has_icon, icon
from viewer.widgets.controls.theme import Look

LAST = ("settings", "quit")
"""Groups that end their menu, for that is where people look for them."""


class DuplicateKeyError(ValueError):
    """Two actions ask for one key."""


def check_keys(actions: Iterable[Action]) -> None:
    """Raise DuplicateKeyError when a key is asked for twice."""
    taken: dict[str, str] = {}
    for one in actions:
        if not one.shortcut:
            continue
        key = QKeySequence(one.shortcut).toString()
        if key in taken:
            raise DuplicateKeyError(f"{key} belongs to both {taken[key]} and {one.id}")
        taken[key] = one.id


class ActionSet(QObject):
    """QActions of a table by id; each keeps its tick and whether it is enabled true."""

    def __init__(
        self, actions: Sequence[Action], session: Session, look: Look, parent: QObject
    ) -> None:
        super().__init__(parent)
        check_keys(actions)
        self._session = session
        self._look = look
        self.table = {one.id: one for one in actions}
        self.qt = {one.id: self._made(one) for one in actions}
        choices = session.choices
        for notifier in (
            session.opened,
            session.arrived,
            session.selection.changed,
            session.jobs.changed,
            session.settings.changed,
            session.loaded,
            session.notes.changed,
            session.history.changed,
            choices.visit.changed,
            choices.form.changed,
            choices.grid_reference.changed,
        ):
            follow(self, notifier, self.renew)
        follow(self, look.theme.changed, self._dress)
        self._dress()
        self.renew()

    def _made(self, one: Action) -> QAction:
        action = QAction(one.title, self)
        if one.shortcut:
            action.setShortcut(QKeySequence(one.shortcut))
        tip = one.tip or one.title
        action.setToolTip(f"{tip} ({one.shortcut})" if one.shortcut else tip)
        action.setStatusTip(tip)
        action.setCheckable(one.checked is not None)
        action.setObjectName(one.id)
        action.triggered.connect(lambda _=False, chosen=one.id: self.run(chosen))
        return action

    def run(self, action_id: str) -> None:
        """Do it, if it can be done now."""
        one = self.table[action_id]
        if one.enabled(self._session):
            one.run(self._session)
        self.renew()

    def renew(self, *_: object) -> None:
        for name, one in self.table.items():
            self.qt[name].setEnabled(one.enabled(self._session))
            if one.checked is not None:
                self.qt[name].setChecked(one.checked(self._session))
            if one.named is not None:
                self.qt[name].setText(one.named(self._session))

    def _dress(self, *_: object) -> None:
        colour = self._look.theme.value.text
        for name, action in self.qt.items():
            if has_icon(name):
                action.setIcon(icon(name, colour))

    def fill(self, bar: QMenuBar, order: Sequence[str]) -> dict[str, QMenu]:
        """Menus in the given order, groups and their actions in the table's, lines between."""
        menus: dict[str, QMenu] = {}
        for title in order:
            name = title.replace("&", "")
            menu = menus[name] = bar.addMenu(title)
            menu.setToolTipsVisible(True)
            for place, group in enumerate(self._groups(name)):
                if place:
                    menu.addSeparator()
                menu.addActions([self.qt[one.id] for one in group])
        return menus

    def _groups(self, menu: str) -> list[list[Action]]:
        """The actions of a menu by group, wherever in the table they stand; LAST at the end."""
        groups: dict[str, list[Action]] = {}
        for one in self.table.values():
            if one.menu == menu:
                groups.setdefault(one.group, []).append(one)
        ends = [groups.pop(name) for name in LAST if name in groups]
        return [*groups.values(), *ends]
