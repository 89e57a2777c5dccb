"""The lesson desk: scenarios under sliders, side by side, a quiz, and measured curves explained."""

from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from viewer.state.lesson.lesson import Lesson
from viewer.state.lesson.lesson_strings import string_of
from viewer.state.session import Session
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.made_when_seen import MadeWhenSeen
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.lesson.explain_pane import ExplainPane
from viewer.widgets.lesson.lesson_compare import LessonCompare
from viewer.widgets.lesson.lesson_explore import LessonExplore
from viewer.widgets.lesson.lesson_size import LessonSize
from viewer.widgets.lesson.quiz_pane import QuizPane
from viewer.widgets.lesson.save_visit_dialog import SaveVisitDialog

NOTICE = "Simulated: the faults are invented, and nothing here was measured."
NOTICE_MEASURED = "Measured points beside simulated curves."


class LessonPane(QWidget):
    """`left` asks to go back to the site; `lesson.big` says whether it is shown to a class."""

    left = Signal()

    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        self.lesson = Lesson()
        self.size_of_letters = LessonSize(self.lesson.big)
        size = self.size_of_letters
        self.explore = LessonExplore(self.lesson, look, size, self)
        lesson = self.lesson
        self._compare = MadeWhenSeen(lambda page: LessonCompare(lesson, look, size, page))
        self._quiz = MadeWhenSeen(lambda page: QuizPane(session, lesson, look, size, page))
        self._explain = MadeWhenSeen(self._made_explain)
        self.tabs = QTabWidget(self)
        self.tabs.setDocumentMode(True)
        for page, title in (
            (self.explore, "Scenario"),
            (self._compare, "Side by side"),
            (self._quiz, "Quiz"),
            (self._explain, "What would explain this?"),
        ):
            self.tabs.addTab(page, title)
        self.notice = QLabel(NOTICE, self)
        self.present = QPushButton("Presentation", self)
        self.save = QPushButton("Save as traces…", self)
        self.back = QPushButton("Leave the lesson", self)
        self._save_dialog: SaveVisitDialog | None = None
        self._lay_out()
        self.present.toggled.connect(self.set_big)
        self.save.clicked.connect(self.ask_save)
        self.back.clicked.connect(self.left)
        self.tabs.currentChanged.connect(self._page_changed)
        follow(self, self.lesson.big.changed, self.show_big)
        for notifier in (session.selection.changed, session.opened, session.arrived):
            follow(self, notifier, self.offer_current)
        self.offer_current()
        self._escape = QShortcut(QKeySequence(Qt.Key.Key_Escape), self)
        self._escape.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        self._escape.activated.connect(self.end_presentation)
        self.show_big()

    def _lay_out(self) -> None:
        self.present.setCheckable(True)
        self.present.setToolTip(
            "Large letters and thick lines for a projector, everything else hidden; Esc ends it"
        )
        self.save.setToolTip("Write the scenario as it is set as a visit folder for exercises")
        self.notice.setWordWrap(True)
        bar = QHBoxLayout()
        bar.setSpacing(SMALL)
        bar.addWidget(self.notice, 1)
        for button in (self.save, self.present, self.back):
            bar.addWidget(button)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.setSpacing(SMALL)
        column.addLayout(bar)
        column.addWidget(self.tabs, 1)

    def set_big(self, big: bool) -> None:
        self.lesson.big.value = big

    def show_big(self, *_: object) -> None:
        big = self.lesson.big.value
        self.present.setChecked(big)
        self.present.setText("End presentation" if big else "Presentation")
        self._escape.setEnabled(big)
        self.setFont(self.size_of_letters.font())
        self.save.setVisible(not big)
        self.back.setVisible(not big)

    @property
    def compare(self) -> LessonCompare:
        return self._compare.held

    @property
    def quiz(self) -> QuizPane:
        return self._quiz.held

    @property
    def explain(self) -> ExplainPane:
        return self._explain.held

    def _made_explain(self, page: QWidget) -> ExplainPane:
        size = self.size_of_letters
        made = ExplainPane(self._session, self.lesson, self._look, size, page)
        made.into_lesson.clicked.connect(self._to_scenario)
        return made

    @property
    def shown_page(self) -> QWidget:
        """The page in front."""
        page = self.tabs.currentWidget()
        return page.held if isinstance(page, MadeWhenSeen) else page

    def show_page(self, page: QWidget) -> None:
        """Bring one of the pages to the front."""
        holder = page.parentWidget()
        self.tabs.setCurrentWidget(holder if isinstance(holder, MadeWhenSeen) else page)

    def _page_changed(self, place: int) -> None:
        measured = self.tabs.widget(place) is self._explain
        self.notice.setText(NOTICE_MEASURED if measured else NOTICE)

    def _to_scenario(self) -> None:
        self.show_page(self.explore)

    def offer_current(self, *_: object) -> None:
        """The string selected in the site can be the lesson's string too."""
        result = self._session.current
        try:
            string = string_of(result, self._session.layout) if result else None
        except ValueError:
            string = None
        self.lesson.offer(string)

    def end_presentation(self) -> None:
        self.lesson.big.value = False

    def ask_save(self) -> None:
        """The dialog stays beside the lesson, which can be set further meanwhile."""
        if self._save_dialog is None:
            self._save_dialog = SaveVisitDialog(self.lesson, self)
            self._save_dialog.accepted.connect(self._choose_folder)
        self._save_dialog.show()
        self._save_dialog.raise_()
        self._save_dialog.activateWindow()

    def _choose_folder(self) -> None:
        assert self._save_dialog is not None
        chosen = QFileDialog.getExistingDirectory(
            self, "Folder in which to make the visit's folder", str(Path.home())
        )
        if chosen:
            self._session.message.value = self._save_dialog.save(Path(chosen))
