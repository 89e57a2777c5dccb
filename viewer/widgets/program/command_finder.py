"""A box to find any command by some of its words and to run it."""

from PySide6.QtCore import QEvent, QObject, QPoint, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QLineEdit, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from viewer.state.command_search import matching
from viewer.state.session import Session
from viewer.widgets.controls.action_menus import ActionSet
from viewer.widgets.controls.theme import SMALL

WIDTH, HEIGHT = 520, 360
UP_DOWN = (Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_PageUp, Qt.Key.Key_PageDown)


class CommandFinder(QFrame):
    """Opens over the window; Enter runs the chosen command, Escape leaves."""

    def __init__(self, actions: ActionSet, session: Session, parent: QWidget) -> None:
        super().__init__(parent, Qt.WindowType.Popup)
        self._window = parent
        self._actions = actions
        self._session = session
        self.setFrameShape(QFrame.Shape.StyledPanel)
        self.words = QLineEdit(self)
        self.words.setPlaceholderText("Find a command")
        self.words.setAccessibleName("Find a command")
        self.list = QListWidget(self)
        self.list.setAccessibleName("Commands found")
        self.list.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        column = QVBoxLayout(self)
        column.setContentsMargins(SMALL, SMALL, SMALL, SMALL)
        column.addWidget(self.words)
        column.addWidget(self.list)
        self.words.textChanged.connect(self.search)
        self.words.returnPressed.connect(self.run_chosen)
        self.list.itemClicked.connect(lambda _: self.run_chosen())
        self.words.installEventFilter(self)
        self.resize(WIDTH, HEIGHT)

    def open(self) -> None:
        window = self._window
        self.move(window.mapToGlobal(QPoint((window.width() - self.width()) // 2, 60)))
        self.words.clear()
        self.search("")
        self.show()
        self.words.setFocus()

    def search(self, words: str) -> None:
        self.list.clear()
        for one in matching(self._actions.table.values(), words):
            text = f"{one.menu}: {one.title}"
            item = QListWidgetItem(f"{text}    {one.shortcut}" if one.shortcut else text)
            item.setToolTip(one.tip)
            item.setData(Qt.ItemDataRole.UserRole, one.id)
            if not one.enabled(self._session):
                item.setFlags(item.flags() & ~Qt.ItemFlag.ItemIsEnabled)
            self.list.addItem(item)
        self.list.setCurrentRow(0)

    def run_chosen(self) -> None:
        item = self.list.currentItem()
        if item is None or not item.flags() & Qt.ItemFlag.ItemIsEnabled:
            return
        self.hide()
        self._actions.run(item.data(Qt.ItemDataRole.UserRole))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Up and down move in the list while the words keep the focus."""
        if (
            watched is self.words
            and isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.KeyPress
            and event.key() in UP_DOWN
        ):
            self.list.keyPressEvent(event)
            return True
        return super().eventFilter(watched, event)
