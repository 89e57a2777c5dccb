"""Pictures of the current string: attach, look at, describe, remove."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QIcon, QPixmap
from PySide6.QtWidgets import (
    QComboBox,
    QFileDialog,
    QHBoxLayout,
    QLineEdit,
    QListView,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QWidget,
)

from viewer.site_data.pictures import PICTURE_KINDS, SUFFIXES, Picture
from viewer.state.session import Session
from viewer.state.site_pictures import SitePictures
from viewer.widgets.controls.binding import fill_choices, follow
from viewer.widgets.controls.theme import SMALL
from viewer.widgets.strings.picture_window import PictureWindow

ICON = QSize(132, 88)
CELL = QSize(148, 124)
LIST_WIDTH = 176
FILTER = f"Pictures ({' '.join('*' + one for one in SUFFIXES)})"


class PictureRow(QWidget):
    """The words of the chosen picture, seen while one is chosen.

    The pane lays out `attach`, and `thumbs`, which is seen once there is a picture.
    """

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.pictures = SitePictures(session)
        self.attach = QPushButton("Attach picture…", parent or self)
        self.kind = QComboBox(self)
        self.caption = QLineEdit(self)
        self.remove = QPushButton("Remove picture", self)
        self.thumbs = QListWidget(parent or self)
        self.window_shown: PictureWindow | None = None
        self._shown: tuple[Picture, ...] = ()
        self._known = 0
        self._attaching = False
        """Files of this string are on their way: the last one is to be chosen."""
        self._lay_out()
        self.attach.clicked.connect(self.ask)
        self.remove.clicked.connect(self._remove)
        self.kind.activated.connect(self._describe)
        self.caption.editingFinished.connect(self._describe)
        self.thumbs.itemSelectionChanged.connect(self._chosen_changed)
        self.thumbs.itemActivated.connect(self.enlarge)
        for notifier in (self.pictures.changed, session.selection.changed, session.arrived):
            follow(self, notifier, self.refill)
        self.pictures.read()

    def _lay_out(self) -> None:
        fill_choices(self.kind, [(one.capitalize(), one) for one in PICTURE_KINDS], None)
        self.attach.setToolTip(
            "Keep photos or infrared pictures of the fault with this string; they can also be "
            "dropped here"
        )
        self.kind.setAccessibleName("Kind of the picture")
        self.caption.setAccessibleName("Caption of the picture")
        self.caption.setPlaceholderText("What the picture shows")
        self.remove.setToolTip("Take it off the list; undo brings it back")
        self.thumbs.setAccessibleName("Pictures of the current string")
        self.thumbs.setToolTip(
            "Choose a picture to change its words; Enter or a double click shows it large"
        )
        self.thumbs.setViewMode(QListView.ViewMode.IconMode)
        self.thumbs.setFlow(QListView.Flow.TopToBottom)
        self.thumbs.setWrapping(False)
        self.thumbs.setMovement(QListView.Movement.Static)
        self.thumbs.setIconSize(ICON)
        self.thumbs.setFixedWidth(LIST_WIDTH)
        self.thumbs.setWordWrap(True)
        self.thumbs.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(SMALL)
        for widget in (self.kind, self.caption, self.remove):
            row.addWidget(widget)
        row.setStretch(1, 1)

    def refill(self, *_: object) -> None:
        """Show those of the current string; what is being typed stays while it is the same."""
        result = self._session.current
        shown = self.pictures.of(result)
        small = sum(self.pictures.small(one) is not None for one in shown)
        if (shown, small) != (self._shown, self._known):
            known = {one.number for one in self._shown}
            added = [one for one in shown if one.number not in known]
            chosen = self._chosen()
            if self._attaching and added:
                chosen, self._attaching = added[-1], False
            self._shown, self._known = shown, small
            self._fill(chosen)
        self.thumbs.setVisible(bool(shown))
        self.pictures.make_small(shown)
        self._chosen_changed()

    def _fill(self, chosen: Picture | None) -> None:
        self.thumbs.blockSignals(True)
        self.thumbs.clear()
        for one in self._shown:
            item = QListWidgetItem(self._icon(one), _words(one))
            item.setToolTip(f"{one.file_name}, {one.kind}. {one.caption}".strip())
            item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{one.kind} {_words(one)}")
            item.setSizeHint(CELL)
            item.setTextAlignment(Qt.AlignmentFlag.AlignHCenter)
            self.thumbs.addItem(item)
            if chosen is not None and one.number == chosen.number:
                self.thumbs.setCurrentItem(item)
        self.thumbs.blockSignals(False)

    def _icon(self, picture: Picture) -> QIcon:
        pixmap = QPixmap()
        content = self.pictures.small(picture)
        if not content or not pixmap.loadFromData(content):
            pixmap = QPixmap(ICON)
            pixmap.fill(Qt.GlobalColor.transparent)
        return QIcon(pixmap)

    def _chosen(self) -> Picture | None:
        rows = [index.row() for index in self.thumbs.selectedIndexes()]
        return self._shown[rows[0]] if rows and rows[0] < len(self._shown) else None

    def _chosen_changed(self) -> None:
        one = self._chosen()
        self.setVisible(one is not None)
        if one is not None:
            fill_choices(self.kind, [(k.capitalize(), k) for k in PICTURE_KINDS], one.kind)
            if not self.caption.hasFocus() or self.caption.property("number") != one.number:
                self.caption.setText(one.caption)
                self.caption.setProperty("number", one.number)

    def _describe(self, *_: object) -> None:
        one = self._chosen()
        if one is not None and self.caption.property("number") == one.number:
            self.pictures.describe(one, self.kind.currentData(), self.caption.text().strip())

    def _remove(self) -> None:
        one = self._chosen()
        if one is not None:
            self.pictures.remove(one)

    def ask(self) -> None:
        """Choose files and attach them."""
        chosen, _ = QFileDialog.getOpenFileNames(self, "Attach pictures", "", FILTER)
        if chosen:
            self.attach_files([Path(one) for one in chosen])

    def attach_files(self, files: Sequence[Path]) -> None:
        """Keep them with the current string; why not is said in the status line."""
        result = self._session.current
        if result is None:
            self._session.message.value = "Select the string first that the picture shows."
        elif files:
            self._attaching = True
            self.pictures.attach(result, files)

    def enlarge(self, *_: object) -> None:
        """Show the chosen one in a window of its own, which does not hold the program up."""
        one = self._chosen()
        if one is None:
            return
        if self.window_shown is None:
            self.window_shown = PictureWindow(self)
        self.window_shown.wait_for(f"{one.file_name}, {one.day}", one.caption)
        self.pictures.make_large(one, self.window_shown.take)


def _words(picture: Picture) -> str:
    return f"{picture.caption or picture.file_name}\n{picture.day}"
