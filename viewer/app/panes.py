"""The panes of the window as a table: one line adds one."""

import importlib
from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from viewer.state.session import Session
from viewer.widgets.change_pane import ChangePane
from viewer.widgets.datasheet_pane import DatasheetPane
from viewer.widgets.expect_pane import ExpectPane
from viewer.widgets.findings_pane import FindingsPane
from viewer.widgets.heat_grid import HeatGrid
from viewer.widgets.help_pane import HelpPane
from viewer.widgets.hours_pane import HoursPane
from viewer.widgets.key_point_pane import KeyPointPane
from viewer.widgets.limits_pane import LimitsPane
from viewer.widgets.mismatch_pane import MismatchPane
from viewer.widgets.notes_pane import NotesPane
from viewer.widgets.overview_pane import OverviewPane
from viewer.widgets.sample_pane import SamplePane
from viewer.widgets.settings_pane import SettingsPane
from viewer.widgets.string_list import StringList
from viewer.widgets.sweep_pane import SweepPane
from viewer.widgets.theme import Look
from viewer.widgets.unreadable_pane import UnreadablePane
from viewer.widgets.warranty_pane import WarrantyPane
from viewer.widgets.years_pane import YearsPane

LEFT = Qt.DockWidgetArea.LeftDockWidgetArea
RIGHT = Qt.DockWidgetArea.RightDockWidgetArea
BOTTOM = Qt.DockWidgetArea.BottomDockWidgetArea


@dataclass(frozen=True)
class Pane:
    """A dockable pane. `with_pane` names the pane it shares a tab bar with."""

    id: str
    title: str
    factory: Callable[[Session, Look], QWidget]
    area: Qt.DockWidgetArea
    with_pane: str = ""
    shown: bool = True
    floating: bool = False
    """It opens as a window of its own, which can be docked."""
    size: tuple[int, int] = (560, 600)
    """Of that window, where the screen has room for it."""


def report_pane(session: Session, look: Look) -> QWidget:
    """Named as a string: with what writes documents it is slow to load, and not seen at first."""
    module = importlib.import_module("viewer.widgets.report_pane")
    made: QWidget = module.ReportPane(session, look)
    return made


def import_pane(session: Session, look: Look) -> QWidget:
    """Named as a string too: what reads tables is slow to load, and not seen at first."""
    module = importlib.import_module("viewer.widgets.import_pane")
    made: QWidget = module.ImportPane(session, look)
    return made


PANES: tuple[Pane, ...] = (
    Pane("strings", "Strings", StringList, LEFT),
    Pane("heat_grid", "Heat-grid", HeatGrid, LEFT),
    Pane("key_points", "Key points and conditions", KeyPointPane, BOTTOM),
    Pane("findings", "Findings", FindingsPane, BOTTOM, with_pane="key_points"),
    Pane("mismatch", "Mismatch", MismatchPane, BOTTOM, with_pane="key_points"),
    Pane("overview", "Site overview", OverviewPane, BOTTOM, with_pane="key_points"),
    Pane("unreadable", "Unreadable files", UnreadablePane, BOTTOM, with_pane="key_points"),
    Pane("years", "Over the years", YearsPane, BOTTOM, with_pane="key_points", shown=False),
    Pane("changes", "Against a visit", ChangePane, BOTTOM, with_pane="key_points", shown=False),
    Pane("at_the_string", "At the string", ExpectPane, BOTTOM, with_pane="key_points", shown=False),
    Pane("sweep", "Sweep and fit", SweepPane, BOTTOM, with_pane="key_points"),
    Pane("datasheet", "Datasheet", DatasheetPane, BOTTOM, with_pane="key_points", shown=False),
    Pane("limits", "Electrical limits", LimitsPane, BOTTOM, with_pane="key_points", shown=False),
    Pane("good_hours", "Good hours", HoursPane, BOTTOM, with_pane="key_points", shown=False),
    Pane("notes", "Notes and repairs", NotesPane, BOTTOM, with_pane="key_points", shown=False),
    Pane("sample", "Sample", SamplePane, BOTTOM, with_pane="key_points", shown=False),
    Pane("warranty", "Warranty", WarrantyPane, BOTTOM, with_pane="key_points", shown=False),
    Pane("report", "Report", report_pane, BOTTOM, with_pane="key_points", shown=False),
    Pane(
        "import", "Import files", import_pane, RIGHT, shown=False, floating=True, size=(1180, 680)
    ),
    Pane("settings", "Settings", SettingsPane, RIGHT, shown=False, floating=True),
    Pane("help", "Help", HelpPane, RIGHT, shown=False, floating=True),
)
