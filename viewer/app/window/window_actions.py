"""Actions that need the window: dialogs to open and to export, and what lies in View."""

from collections.abc import Callable
from pathlib import Path
from typing import Protocol, cast

from PySide6.QtWidgets import QApplication, QFileDialog, QWidget

from viewer.app.window.desks import Desks
from viewer.app.window.pane_docks import PaneDocks
from viewer.reports.curve_figure import CurveFigure
from viewer.reports.key_point_csv import save_key_points
from viewer.site_data.resource_folder import example_folder
from viewer.site_data.site_file.connection import SUFFIX
from viewer.state.actions import Action, has_selection, has_traces
from viewer.state.plot.plot_saving import figure_caption, save_plot_steps
from viewer.state.program.jobs import Job
from viewer.state.session import Session
from viewer.state.spoken_jobs import SpokenJobs, one_step_job
from viewer.widgets.plot.curve_plot import CurvePlot
from viewer.widgets.program.command_finder import CommandFinder
from viewer.widgets.program.help_pane import HelpPane
from viewer.widgets.program.start_page import Door

PLOT_FILTERS = "PNG picture (*.png);;SVG drawing (*.svg);;PDF page (*.pdf)"
CURVES_PAGE = "Curves"
"""Title of the help's page about the plot; the others bear their pane's title."""
SITE_FILTER = "Site files (*.curvewright);;All files (*)"


def is_visit_folder(session: Session) -> bool:
    return session.layout is not None and session.folder is not None and session.folder.is_dir()


def is_site_file_open(session: Session) -> bool:
    return session.notes.path is not None


class ActingWindow(Protocol):
    """What actions ask of the window."""

    plot: CurvePlot
    docks: PaneDocks
    desks: Desks
    finder: CommandFinder

    def close(self) -> bool: ...


class WindowActions:
    """What needs the window: dialogs, panes brought to the front, the plot as it is shown."""

    def __init__(
        self, window: ActingWindow, session: Session, figure: Callable[[], CurveFigure]
    ) -> None:
        self._window = window
        self._session = session
        self._figure = figure
        self._jobs = SpokenJobs()

    def doors(self) -> tuple[Door, ...]:
        """The ways to begin, for the start page: title, meaning, what to do."""
        session = self._session
        return (
            (
                "Open a visit folder…",
                "A folder with a site.toml beside its trace files; it can also be dropped here.",
                lambda: self.open_folder(session),
            ),
            (
                "Open a site file…",
                "A site kept in one file with all its visits.",
                lambda: self.open_site_file(session),
            ),
            (
                "Import files…",
                "Trace files of any layout: see how they are read, correct it, make a visit of "
                "them.",
                lambda: self._window.docks.show("import"),
            ),
            (
                "Open the example",
                "An invented site with two visits and a number of faults, to look around in.",
                lambda: session.open(example_folder()),
            ),
        )

    def table(self) -> tuple[Action, ...]:
        return (*self._file_actions(), *self._view_actions())

    def _file_actions(self) -> tuple[Action, ...]:
        return (
            Action(
                "open_folder",
                "Open folder…",
                "File",
                self.open_folder,
                "Ctrl+O",
                "Open a visit folder: a site.toml beside its trace files",
                group="open",
            ),
            Action(
                "open_site_file",
                "Open site file…",
                "File",
                self.open_site_file,
                "Ctrl+Shift+O",
                "Open a site file, which keeps a site with all its visits",
                group="open",
            ),
            Action(
                "import_files",
                "Import files…",
                "File",
                lambda _: self._window.docks.show("import"),
                "Ctrl+I",
                "Read trace files of any layout into a visit folder",
                group="open",
            ),
            Action(
                "save_site_file",
                "Save as site file…",
                "File",
                self.save_site_file,
                "Ctrl+Alt+S",
                "Keep the open folder with all its visits in one file, or add it to one",
                is_visit_folder,
                group="site_file",
            ),
            Action(
                "import_folder",
                "Import a visit folder…",
                "File",
                self.import_folder,
                "Ctrl+Alt+O",
                "Add the traces of a further visit to the open site file",
                is_site_file_open,
                group="site_file",
            ),
            Action(
                "open_example",
                "Open the example",
                "File",
                lambda session: session.open(example_folder()),
                "",
                "Open the invented example site that comes with the program",
                group="open",
            ),
            Action(
                "export",
                "Export plot…",
                "File",
                self.export_plot,
                "Ctrl+S",
                "Save the curves as they are shown: PNG, SVG or PDF",
                has_selection,
                group="export",
            ),
            Action(
                "export_table",
                "Export table…",
                "File",
                self.export_table,
                "Ctrl+Shift+S",
                "Save the key points of the shown visit as CSV",
                has_traces,
                group="export",
            ),
            Action(
                "settings",
                "Settings",
                "File",
                lambda _: self._window.docks.show("settings"),
                "Ctrl+,",
                "Colours, limits and what else can be chosen",
                group="settings",
            ),
            Action(
                "quit",
                "Quit",
                "File",
                lambda _: self._window.close(),
                "Ctrl+Q",
                "Close the window; layout and settings are kept",
                group="quit",
            ),
        )

    def _view_actions(self) -> tuple[Action, ...]:
        return (
            Action(
                "fit",
                "Show curves whole",
                "Curves",
                lambda _: self._window.plot.canvas.fit(),
                "Ctrl+0",
                "Leave the zoom: every curve whole, from the origin on",
                group="fit",
            ),
            Action(
                "default_layout",
                "Default layout",
                "View",
                lambda _: self._window.desks.as_at_first(),
                "",
                "Put every pane of every desk back where it was at first",
                group="layout",
            ),
            Action(
                "find_command",
                "Find a command…",
                "Help",
                lambda _: self._window.finder.open(),
                "Ctrl+Shift+P",
                "Find any command by some of its words and run it",
                group="find",
            ),
            Action(
                "help",
                "Help",
                "Help",
                lambda _: self.help(),
                "F1",
                "What the pane in use shows and how each number is computed, and the keys",
                group="help",
            ),
        )

    def help(self) -> None:
        """The page about what has the keyboard; the page that was open when there is none."""
        title = self._window.docks.title_in_use()
        focus = QApplication.focusWidget()
        if focus is not None and self._window.plot.isAncestorOf(focus):
            title = CURVES_PAGE
        self._window.docks.show("help")
        pane = self._window.docks.widget("help")
        if isinstance(pane, HelpPane) and pane.has_page(title):
            pane.show_page(title)

    def open_folder(self, session: Session) -> None:
        recent = session.settings.value.recent_folders
        start = str(Path(recent[0]).parent) if recent else str(Path.home())
        chosen = QFileDialog.getExistingDirectory(self._parent(), "Open a visit folder", start)
        if chosen:
            session.open(Path(chosen))

    def open_site_file(self, session: Session) -> None:
        chosen, _ = QFileDialog.getOpenFileName(
            self._parent(), "Open a site file", str(Path.home()), SITE_FILTER
        )
        if chosen:
            session.open(Path(chosen))

    def save_site_file(self, session: Session) -> None:
        """Store the open folder in a site file; an existing one is added to, never replaced."""
        if session.folder is None:
            return
        start = session.folder.parent / f"{session.folder.name or 'site'}{SUFFIX}"
        chosen, _ = QFileDialog.getSaveFileName(
            self._parent(),
            "Save as site file (an existing one is added to)",
            str(start),
            SITE_FILTER,
            options=QFileDialog.Option.DontConfirmOverwrite,
        )
        if chosen:
            path = Path(chosen)
            session.notes.import_folder(
                session.folder, path if path.suffix else path.with_suffix(SUFFIX)
            )

    def import_folder(self, session: Session) -> None:
        """Add a visit folder to the open site file."""
        site_file = session.notes.path
        if site_file is None:
            return
        chosen = QFileDialog.getExistingDirectory(
            self._parent(), "Import a visit folder", str(site_file.parent)
        )
        if chosen:
            session.notes.import_folder(Path(chosen), site_file)

    def _parent(self) -> QWidget:
        return cast(QWidget, self._window)

    def export_plot(self, session: Session) -> None:
        chosen, kind = QFileDialog.getSaveFileName(
            self._parent(), "Export plot", self._proposed("curves.png"), PLOT_FILTERS
        )
        if chosen:
            path = Path(chosen)
            if not path.suffix:
                path = path.with_suffix(kind[kind.index("*") + 1 : kind.index(")")])
            figure = self._figure()
            marks = session.marks.on(figure, session.choices.form.value)
            words = figure_caption(session.shown_results())
            dpi = session.settings.value.plot_dpi
            given = figure, path, dpi, marks, words
            job = Job(
                f"Saving {path.name}",
                lambda: session.jobs.elsewhere(save_plot_steps, *given),
                lambda _: None,
            )
            self._start_saving(path, job)

    def export_table(self, session: Session) -> None:
        chosen, _ = QFileDialog.getSaveFileName(
            self._parent(), "Export table", self._proposed("key_points.csv"), "CSV table (*.csv)"
        )
        if chosen:
            path = Path(chosen)
            path = path if path.suffix else path.with_suffix(".csv")
            ids = session.shown_ids()
            results = [one for one in session.results if ids is None or one.trace.source in ids]
            self.save(path, lambda: save_key_points(results, path))

    def save(self, path: Path, write: Callable[[], None]) -> None:
        """Write a file as a job and say in the status line what came of it."""
        self._start_saving(path, one_step_job(f"Saving {path.name}", write))

    def _start_saving(self, path: Path, job: Job) -> None:
        said = f"Saved {path}.", f"{path.name} was not saved: "
        self._jobs.start(self._session, job, *said)

    def _proposed(self, name: str) -> str:
        folder = self._session.folder
        return str((folder.parent if folder else Path.home()) / name)
