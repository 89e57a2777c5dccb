"""Help inside the program: a page a pane, and the keys from the table of actions."""

from collections.abc import Iterable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QTextBrowser, QVBoxLayout, QWidget

from viewer.site_data.resource_folder import resource_folder
from viewer.state.actions import SESSION_ACTIONS, Action
from viewer.state.session import Session
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look

KEYS = "Keys"


class HelpPane(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._actions: tuple[Action, ...] = SESSION_ACTIONS
        self.pages = help_pages()
        self.chooser = QComboBox(self)
        self.chooser.setAccessibleName("Page of the help")
        self.chooser.addItems([*self.pages, KEYS])
        self.chooser.currentTextChanged.connect(self.show_page)
        self.words = QTextBrowser(self)
        self.words.setOpenExternalLinks(False)
        self.words.setAccessibleName("Help")
        self.setFocusProxy(self.words)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.addWidget(self.chooser, 0, Qt.AlignmentFlag.AlignLeft)
        column.addWidget(self.words, 1)
        self.show_page(self.chooser.currentText())

    def know_actions(self, actions: Iterable[Action]) -> None:
        """List the keys of these actions on the page of keys."""
        self._actions = tuple(actions)
        self.show_page(self.chooser.currentText())

    def has_page(self, title: str) -> bool:
        return title in self.pages

    def show_page(self, title: str) -> None:
        self.chooser.setCurrentText(title)
        if title == KEYS:
            self.words.setMarkdown(key_sheet(self._actions))
        else:
            self.words.setMarkdown(self.pages[title])


def help_pages(language: str = "en") -> dict[str, str]:
    """Title -> Markdown of each page, in order of their files."""
    folder = resource_folder() / "help" / language
    texts = [file.read_text(encoding="utf-8") for file in sorted(folder.glob("*.md"))]
    return {text.splitlines()[0].removeprefix("# "): text for text in texts}


def key_sheet(actions: Iterable[Action]) -> str:
    """The keys as a Markdown table, menu by menu."""
    lines = ["# Keys", "", "| Key | Command | Menu |", "|---|---|---|"]
    lines += [f"| {one.shortcut} | {one.title} | {one.menu} |" for one in actions if one.shortcut]
    lines += [
        "",
        "In lists and in the heat-grid the arrow keys move, Shift extends and Ctrl adds; "
        "Tab goes from one control to the next.",
        "",
        "## On the curves",
        "",
        "| Key | What it does |",
        "|---|---|",
        "| Right, Up | the next point of the current curve, towards higher voltage |",
        "| Left, Down | the point before |",
        "| Page Up, Page Down | ten points on, ten points back |",
        "| Home, End | the first point, the last point |",
    ]
    return "\n".join(lines)
