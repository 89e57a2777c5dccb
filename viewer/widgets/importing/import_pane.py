"""Importing files of any layout: list, preview, recipe, log, and the visit folder they become."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QDockWidget,
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSplitter,
    QTabWidget,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from viewer.reading.recipes.recipe import Recipe
from viewer.reading.trace_files import TABLE_SUFFIXES
from viewer.state.importing.file_preview import FilePreview
from viewer.state.importing.importing import Importing
from viewer.state.importing.preview_words import preview_html
from viewer.state.importing.recipe_edits import with_role
from viewer.state.importing.recipe_words import column_marks, main_table
from viewer.state.program.jobs import Job, Progress
from viewer.state.session import Session
from viewer.widgets.controls.binding import FollowedInTurn, follow
from viewer.widgets.controls.patient_bar import PatientBar
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.importing.curve_preview import CurvePreview
from viewer.widgets.importing.dropped_paths import local_paths
from viewer.widgets.importing.import_list import ImportList
from viewer.widgets.importing.log_form import LogForm
from viewer.widgets.importing.recipe_form import RecipeForm
from viewer.widgets.importing.recipe_text_box import RecipeTextBox
from viewer.widgets.importing.table_preview import TablePreview

WATCH_INTERVAL = 2000
"""Milliseconds between two looks into the watched folder."""
FILES = f"Tables ({' '.join('*' + one for one in TABLE_SUFFIXES)});;All files (*)"
RECIPES = "Reading recipes (*.toml);;All files (*)"


class ImportPane(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.importing = Importing(session)
        self._session = session
        self._progress = FollowedInTurn(self, self._show_progress)
        self.setAcceptDrops(True)
        self.list = ImportList(self.importing.files, look, self)
        self.table = TablePreview(look, self)
        self.curves = CurvePreview(look, self)
        self.words = QTextBrowser(self)
        self.form = RecipeForm(self)
        self.text = RecipeTextBox(self.importing.recipe, look, self)
        self.log = LogForm(self.importing.writing, self)
        self.same_for_all = QCheckBox("This recipe for every file", self)
        self.read = QPushButton("Read", self)
        self.retry = QPushButton("Retry failed", self)
        self.again = QPushButton("Read all again", self)
        self.clear = QPushButton("Empty the list", self)
        self.watch = QPushButton("Watch a folder…", self)
        self.write = QPushButton("Write a visit folder and open it…", self)
        self.with_site = QCheckBox("describe it by the open site if it has no site.toml", self)
        self.progress = PatientBar(self)
        self.cancel = QPushButton("Cancel", self)
        self.said = QLabel(self)
        self._timer = QTimer(self)
        self._timer.setInterval(WATCH_INTERVAL)
        self._lay_out()
        self._connect(session)
        self._show_work(None)
        self._show_preview(None)

    def _lay_out(self) -> None:
        self.words.setAccessibleName("What was understood of the file, and why")
        self.words.setFrameShape(QFrame.Shape.NoFrame)
        self.said.setWordWrap(True)
        self.said.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.watch.setCheckable(True)
        self.with_site.setChecked(True)
        self.progress.setAccessibleName("Progress of the import")
        self.same_for_all.setToolTip("Otherwise each file is read as it looks by itself")
        middle = QSplitter(Qt.Orientation.Vertical, self)
        lower = QSplitter(self)
        lower.addWidget(self.curves)
        lower.addWidget(self.words)
        middle.addWidget(self.table)
        middle.addWidget(lower)
        tabs = QTabWidget(self)
        tabs.addTab(self._recipe_tab(self.form), "Recipe")
        tabs.addTab(self.text, "As text")
        tabs.addTab(self.log, "Log")
        tabs.setDocumentMode(True)
        across = QSplitter(self)
        for widget, stretch in ((self.list, 3), (middle, 5), (tabs, 4)):
            across.addWidget(widget)
            across.setStretchFactor(across.count() - 1, stretch)
        across.setSizes([310, 400, 470])
        middle.setSizes([260, 320])
        lower.setSizes([240, 210])
        self._tabs = tabs
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, MEDIUM)
        column.setSpacing(SMALL)
        column.addLayout(self._upper_row())
        column.addWidget(across, 1)
        column.addLayout(self._lower_row())

    def _recipe_tab(self, form: RecipeForm) -> QWidget:
        page = QWidget(self)
        column = QVBoxLayout(page)
        column.setContentsMargins(SMALL, SMALL, 0, SMALL)
        row = QHBoxLayout()
        row.addWidget(self.same_for_all)
        row.addStretch(1)
        self._button(row, "Load…", self._load)
        self._button(row, "Save…", self._save)
        column.addLayout(row)
        column.addWidget(form, 1)
        return page

    def _upper_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(SMALL)
        self._button(row, "Add files…", self._choose_files)
        self._button(row, "Add a folder…", self._choose_folder)
        for button in (self.watch, self.clear):
            row.addWidget(button)
        row.addStretch(1)
        row.addWidget(self.progress)
        for button in (self.cancel, self.read, self.retry, self.again):
            row.addWidget(button)
        self.progress.setMinimumWidth(180)
        return row

    def _lower_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(MEDIUM)
        row.addWidget(self.said, 1)
        row.addWidget(self.with_site)
        row.addWidget(self.write)
        return row

    def _button(self, row: QHBoxLayout, text: str, act: Callable[[], object]) -> None:
        button = QPushButton(text, self)
        button.clicked.connect(act)
        row.addWidget(button)

    def _connect(self, session: Session) -> None:
        importing = self.importing
        self.list.chosen.connect(importing.recipe.choose)
        self.table.role_chosen.connect(self._role_chosen)
        self.form.edited.connect(self._recipe_edited)
        self.same_for_all.clicked.connect(self._same_for_all_clicked)
        self.read.clicked.connect(lambda: importing.read())
        self.retry.clicked.connect(importing.retry)
        self.again.clicked.connect(importing.read_again)
        self.clear.clicked.connect(importing.clear)
        self.cancel.clicked.connect(importing.work.cancel)
        self.watch.clicked.connect(self._watch_clicked)
        self.write.clicked.connect(self._choose_visit)
        self.with_site.toggled.connect(self._with_site_toggled)
        self._timer.timeout.connect(importing.look)
        for notifier, method in (
            (importing.files.changed, self._show_counts),
            (importing.files.rows_changed, self._show_counts),
            (importing.work.under_way.changed, self._show_work),
            (importing.recipe.preview.changed, self._show_preview),
            (importing.recipe.recipe.changed, self._show_recipe),
            (importing.recipe.current.changed, self.list.show_current),
            (importing.said.changed, self._say),
            (importing.watched.changed, self._watched_changed),
            (importing.writing.opened, self._opened),
            (session.site_changed, self._show_counts),
        ):
            follow(self, notifier, method)
        self.destroyed.connect(importing.work.cancel)

    # What is shown

    def _show_counts(self, *_: object) -> None:
        files = self.importing.files
        waiting, failed = len(files.waiting()), len(files.report.files_to_retry())
        idle = self.importing.work.under_way.value is None
        self.read.setText(f"Read {waiting:,}" if waiting else "Read")
        self.retry.setText(f"Retry failed ({failed:,})" if failed else "Retry failed")
        self.read.setEnabled(idle and waiting > 0)
        self.retry.setEnabled(idle and failed > 0)
        self.again.setEnabled(idle and bool(files.report.readings))
        self.clear.setEnabled(bool(files.by_name))
        self.write.setEnabled(idle and any(one.traces for _, one in files.report.readings.values()))
        layout = self._session.layout
        self.with_site.setVisible(layout is not None and bool(layout.combiners))

    def _show_work(self, job: Job | None) -> None:
        self.progress.setVisible(job is not None)
        self.cancel.setVisible(job is not None)
        if job is not None:
            self._progress.turn_to(job.progress.changed)
            self._show_progress(job.progress.value)
        self._show_counts()

    def _show_progress(self, progress: Progress) -> None:
        words = f"%v of %m, {progress.text}" if progress.text else "%v of %m"
        self.progress.show_progress(progress.done, progress.total, words)

    def _show_preview(self, preview: FilePreview | None) -> None:
        if preview is None:
            self.table.show_tables((), [], 0)
            self.curves.show_traces(())
            self.words.setHtml("")
        else:
            marks = [column_marks(one, preview.recipe) for one in preview.tables]
            first = main_table(preview.tables, preview.recipe)
            self.table.show_tables(preview.tables, marks, first)
            self.curves.show_traces(preview.reading.traces)
            self.words.setHtml(preview_html(preview))
        self._show_recipe()

    def _show_recipe(self, *_: object) -> None:
        recipe = self.importing.recipe
        self.same_for_all.setChecked(recipe.recipe.value is not None)
        self.same_for_all.setEnabled(recipe.shown is not None)
        self.form.setEnabled(recipe.shown is not None)
        self.form.show_recipe(recipe.shown, recipe.preview.value)

    def _say(self, text: str) -> None:
        self.said.setText(text)

    # What is done

    def _recipe_edited(self, recipe: Recipe) -> None:
        self.importing.recipe.use(recipe)

    def _role_chosen(self, column: int, role: str) -> None:
        recipe, table = self.importing.recipe.shown, self.table.table
        if recipe is not None and table is not None:
            self.importing.recipe.use(with_role(recipe, table, column, role))

    def _same_for_all_clicked(self, on: bool) -> None:
        recipe = self.importing.recipe
        if on and recipe.shown is not None:
            recipe.use(recipe.shown)
        else:
            recipe.look_at_each()

    def _choose_files(self) -> None:
        chosen, _ = QFileDialog.getOpenFileNames(self, "Add files", self._start(), FILES)
        if chosen:
            self.importing.add(chosen)

    def _choose_folder(self) -> None:
        chosen = QFileDialog.getExistingDirectory(self, "Add a folder", self._start())
        if chosen:
            self.importing.add([chosen])

    def _start(self) -> str:
        """Where dialogs begin: beside the files added last."""
        files = list(self.importing.files.by_name.values())
        return str(files[-1].path.parent if files else Path.home())

    def _load(self) -> None:
        chosen, _ = QFileDialog.getOpenFileName(self, "Load a recipe", self._start(), RECIPES)
        if chosen:
            self.importing.recipe.load(Path(chosen))

    def _save(self) -> None:
        start = str(Path(self._start()) / "recipe.toml")
        chosen, _ = QFileDialog.getSaveFileName(self, "Save the recipe", start, RECIPES)
        if chosen:
            path = Path(chosen)
            self.importing.recipe.save(path if path.suffix else path.with_suffix(".toml"))

    def _watch_clicked(self, on: bool) -> None:
        chosen = ""
        if on:
            chosen = QFileDialog.getExistingDirectory(self, "Watch a folder", self._start())
        if chosen:
            self.importing.watch(Path(chosen))
        elif not on:
            self.importing.watch(None)
        self._watched_changed()

    def _watched_changed(self, *_: object) -> None:
        watched = self.importing.watched.value
        self.watch.setChecked(watched is not None)
        self.watch.setText(f"Watching {watched.path.name}" if watched else "Watch a folder…")
        self.watch.setToolTip(
            f"{watched.path}; click to end that" if watched else "Read new files as they appear"
        )
        if watched is not None:
            self._timer.start()
        else:
            self._timer.stop()

    def _with_site_toggled(self, on: bool) -> None:
        self.importing.writing.with_site = on

    def _choose_visit(self) -> None:
        start = self.importing.writing.visit
        folder = start.folder if start is not None else self._session.folder
        beside = folder if folder is not None and folder.is_dir() else Path(self._start()).parent
        chosen = QFileDialog.getExistingDirectory(
            self, "A folder for the visit; its site.toml and files are kept", str(beside)
        )
        if chosen:
            self.importing.write(Path(chosen))

    def _opened(self) -> None:
        """The window beneath has something to show: make room unless more is to come."""
        dock = self.parentWidget()
        if self.importing.watched.value is None and isinstance(dock, QDockWidget):
            dock.setVisible(not dock.isFloating())

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if local_paths(event.mimeData()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        if paths := local_paths(event.mimeData()):
            event.acceptProposedAction()
            self.importing.add(paths)
