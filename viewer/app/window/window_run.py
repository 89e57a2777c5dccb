"""The running window: application, session, thread pool, settings file and what goes wrong."""

import logging
import sys
from functools import partial
from pathlib import Path

import pyqtgraph as pg
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from viewer.app.window.collection_pauses import CollectionPauses
from viewer.app.window.crash_recovery import CrashRecovery
from viewer.app.window.failure_notice import FailureNotice
from viewer.app.window.later_imports import AFTER, load_later
from viewer.app.window.main_window import MainWindow
from viewer.app.window.panes_ahead import PanesAhead
from viewer.state.keeping.what_was_open import WhatWasOpen
from viewer.state.opening.work_elsewhere import WorkElsewhere
from viewer.state.program.settings import read_settings, settings_path, write_settings
from viewer.state.session import Session
from viewer.state.visit_opening import open_site
from viewer.widgets.controls.decimal_mark import DecimalMark
from viewer.widgets.controls.job_runner import JobRunner
from viewer.widgets.controls.theme import Look, figures_font

log = logging.getLogger(__name__)


def run_window(folder: str | None) -> int:
    """Show the window until it is closed; the exit code."""
    application = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(application, QApplication)
    application.setApplicationName("Curvewright")
    application.setDesktopFileName("curvewright")
    application.setFont(figures_font())
    pg.setConfigOptions(antialias=False, foreground="k")
    path = settings_path()
    settings, problems = read_settings(path)
    session = Session(partial(open_site, behind_window=True), settings)
    runner = JobRunner()
    session.jobs.runner = runner
    session.jobs.elsewhere = elsewhere = WorkElsewhere()
    window = MainWindow(session, Look(session.settings))
    DecimalMark(window, session)
    CollectionPauses(window, session)
    notice = FailureNotice(window)
    notice.install()
    if not settings.window_geometry:
        screen = application.primaryScreen().availableGeometry()
        window.resize(min(1680, screen.width()), min(1000, screen.height()))
    recovery = CrashRecovery(session, path.parent / "open", notice.log_file.parent)
    session.left_open.value = recovery.begin()
    window.show()
    PanesAhead(window, window.docks, session, (lambda: window.lesson.pane,))
    if session.left_open.value is not None:
        problems = (*problems, stopped_sentence(session.left_open.value, recovery, notice))
    if problems:
        session.message.value = " ".join(problems)
    if folder is not None:
        session.open(Path(folder))
    QTimer.singleShot(AFTER, lambda: load_later(elsewhere.start))
    code = application.exec()
    recovery.end()
    runner.finish()
    elsewhere.close()
    notice.remove()
    try:
        write_settings(path, session.settings.value)
    except OSError as problem:
        log.warning("the settings were not saved in %s: %s", path, problem)
    return code


def stopped_sentence(left: WhatWasOpen, recovery: CrashRecovery, notice: FailureNotice) -> str:
    return (
        f"The program stopped last time without ending, while this was open: {left.in_words()}. "
        f"What is known of it lies in {recovery.crash_file} and {notice.log_file.name} beside it."
    )
