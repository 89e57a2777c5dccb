"""Actions that need the window: dialogs to open and to export, and what lies in View."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QWidget

from viewer.reports.curve_figure import CurveFigure
from viewer.reports.curve_figure_file import save_curve_figure
from viewer.reports.key_point_csv import save_key_points
from viewer.site_data.resource_folder import example_folder
from viewer.state.actions import Action, has_selection, has_traces
from viewer.state.session import Session

PLOT_FILTERS = "PNG picture (*.png);;SVG drawing (*.svg);;PDF page (*.pdf)"


class WindowActions:
    """What needs a dialog. `figure` tells what the plot shows now."""

    def __init__(
        self, window: QWidget, session: Session, figure: Callable[[], CurveFigure]
    ) -> None:
        self._window = window
        self._session = session
        self._figure = figure

    def table(self) -> tuple[Action, ...]:
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
                "Ctrl+E",
                "Save the curves as they are shown: PNG, SVG or PDF",
                has_selection,
                group="export",
            ),
            Action(
                "export_table",
                "Export table…",
                "File",
                self.export_table,
                "Ctrl+Shift+E",
                "Save the key points of the shown visit as CSV",
                has_traces,
                group="export",
            ),
        )

    def open_folder(self, session: Session) -> None:
        recent = session.settings.value.recent_folders
        start = str(Path(recent[0]).parent) if recent else str(Path.home())
        chosen = QFileDialog.getExistingDirectory(self._window, "Open a visit folder", start)
        if chosen:
            session.open(Path(chosen))

    def export_plot(self, session: Session) -> None:
        chosen, kind = QFileDialog.getSaveFileName(
            self._window, "Export plot", self._proposed("curves.png"), PLOT_FILTERS
        )
        if chosen:
            path = Path(chosen)
            if not path.suffix:
                path = path.with_suffix(kind[kind.index("*") + 1 : kind.index(")")])
            self.save(path, lambda: save_curve_figure(self._figure(), path))

    def export_table(self, session: Session) -> None:
        chosen, _ = QFileDialog.getSaveFileName(
            self._window, "Export table", self._proposed("key_points.csv"), "CSV table (*.csv)"
        )
        if chosen:
            path = Path(chosen)
            path = path if path.suffix else path.with_suffix(".csv")
            ids = session.shown_ids()
            results = [one for one in session.results if ids is None or one.trace.source in ids]
            self.save(path, lambda: save_key_points(results, path))

    def save(self, path: Path, write: Callable[[], None]) -> None:
        """Write a file and say in the status line what came of it."""
        try:
            write()
        except (OSError, ValueError) as problem:
            self._session.message.value = f"{path.name} was not saved: {problem}"
        else:
            self._session.message.value = f"Saved {path}."

    def _proposed(self, name: str) -> str:
        folder = self._session.folder
        return str((folder.parent if folder else Path.home()) / name)
