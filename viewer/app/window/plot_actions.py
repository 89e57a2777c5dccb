"""Actions on the plot as it is shown: onto the clipboard, and every selected string's at once."""

import atexit
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QMimeData
from PySide6.QtGui import QGuiApplication, QImage
from PySide6.QtWidgets import QFileDialog, QWidget

from viewer.physics.nomenclature import counted
from viewer.reports.curve_figure import CurveFigure
from viewer.state.actions import Action, has_selection
from viewer.state.plot.plot_saving import copy_plot_steps, figure_caption, save_plots_steps
from viewer.state.program.jobs import Job
from viewer.state.session import Session
from viewer.state.spoken_jobs import SpokenJobs

KINDS: tuple[tuple[str, str], ...] = (
    ("PNG pictures (*.png)", ".png"),
    ("SVG drawings (*.svg)", ".svg"),
    ("PDF pages (*.pdf)", ".pdf"),
)
ASKED_NAME = "one file a string"
"""Stands in the dialog where the names of the files come from the strings."""


def _leave_clipboard() -> None:
    """Take what was made in Python off the clipboard while Python still runs.

    Qt would delete it after the interpreter has ended, which ends in a crash.
    """
    if QGuiApplication.instance() is not None:
        QGuiApplication.clipboard().clear()


class PlotActions:
    def __init__(self, parent: QWidget, figure: Callable[[], CurveFigure]) -> None:
        self._parent = parent
        self._figure = figure
        self._jobs = SpokenJobs()

    def table(self) -> tuple[Action, ...]:
        return (
            Action(
                "copy_plot",
                "Copy plot",
                "Curves",
                self.copy_plot,
                "Ctrl+Shift+C",
                "Put the plot as it is printed, with marks and caption, onto the clipboard",
                has_selection,
                group="copy",
            ),
            Action(
                "save_all_plots",
                "Save all plots…",
                "File",
                self.ask_and_save_all,
                "Ctrl+Alt+P",
                "A plot of its own for every selected string: PNG, SVG or PDF",
                has_selection,
                group="export",
            ),
        )

    def copy_plot(self, session: Session) -> None:
        """As a picture, and as a drawing for programs that take one. Drawn as a job."""
        figure = self._figure()
        marks = session.marks.on(figure, session.choices.form.value)
        words = figure_caption(session.shown_results())
        dpi = session.settings.value.plot_dpi
        job = Job(
            "Copying the plot",
            lambda: session.jobs.elsewhere(copy_plot_steps, figure, dpi, marks, words),
            lambda brought: _hold(brought[-1][0], brought[-1][1], words),
        )
        self._jobs.start(session, job, f"The plot is on the clipboard, at {dpi} dpi.")

    def ask_and_save_all(self, session: Session) -> None:
        start = session.folder.parent if session.folder else Path.home()
        chosen, kind = QFileDialog.getSaveFileName(
            self._parent,
            "Save a plot of every selected string into this folder",
            str(start / ASKED_NAME),
            ";;".join(text for text, _ in KINDS),
        )
        if chosen:
            self.save_all(session, Path(chosen).parent, dict(KINDS).get(kind, ".png"))

    def save_all(self, session: Session, folder: Path, suffix: str) -> None:
        """A job; what was written when it is cancelled stays."""
        results = session.shown_results()
        form, panels = session.choices.form.value, session.choices.panels.value
        marks, dpi = session.marks.all, session.settings.value.plot_dpi
        given = results, marks, form, panels, folder, suffix, dpi
        plots = counted(len(results), "plot")
        job = Job(
            f"Saving {plots}",
            lambda: session.jobs.elsewhere(save_plots_steps, *given),
            lambda _: None,
        )
        self._jobs.start(session, job, f"{plots} saved in {folder}.")


def _hold(picture: bytes, drawing: bytes, words: str) -> None:
    """Put one plot in three forms onto the clipboard."""
    held = QMimeData()
    held.setImageData(QImage.fromData(picture))
    held.setData("image/svg+xml", drawing)
    held.setText(words)
    QGuiApplication.clipboard().setMimeData(held)
    atexit.register(_leave_clipboard)
