"""The whole window with the example open, in the font of the figures it is measured in."""

from collections.abc import Iterator
from contextlib import contextmanager

from PySide6.QtWidgets import QApplication

from viewer.app.window.main_window import MainWindow
from viewer.site_data.resource_folder import example_folder
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.state.visit_opening import open_site
from viewer.widgets.controls.theme import Look, figures_font


@contextmanager
def example_window(qapp: QApplication, width: int, height: int) -> Iterator[MainWindow]:
    before = qapp.font()
    qapp.setFont(figures_font())
    session = Session(open_site, Settings(theme="light"))
    made = MainWindow(session, Look(session.settings))
    made.resize(width, height)
    made.docks.default_layout()
    made.show()
    qapp.processEvents()
    session.open(example_folder())
    qapp.processEvents()
    yield made
    made.close()
    made.deleteLater()
    qapp.setFont(before)
