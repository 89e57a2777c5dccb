"""The panes of the window as a table: one line adds one."""

import importlib
from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from viewer.state.session import Session
from viewer.widgets.controls.theme import Look
from viewer.widgets.program.help_pane import HelpPane
from viewer.widgets.strings.heat_grid import HeatGrid
from viewer.widgets.strings.key_point_pane import KeyPointPane
from viewer.widgets.strings.string_list import StringList

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
    escapes: bool = False
    """The Esc key puts that window away."""


@dataclass(frozen=True)
class Later:
    """Makes a pane that is not seen at first; its module is loaded when the pane is made.

    Modules are named as strings, "room.module.Class" of viewer.widgets: loading them all took a
    third of the window's start. They are loaded in the background soon after (`later_imports`).
    """

    name: str

    @property
    def module(self) -> str:
        return f"viewer.widgets.{self.name.rpartition('.')[0]}"

    def __call__(self, session: Session, look: Look) -> QWidget:
        made = getattr(importlib.import_module(self.module), self.name.rpartition(".")[2])
        pane: QWidget = made(session, look)
        return pane


def _tab(name: str, title: str, made: str, shown: bool = True) -> Pane:
    """A pane that shares the tab bar under the plot."""
    return Pane(name, title, Later(made), BOTTOM, with_pane="key_points", shown=shown)


PANES: tuple[Pane, ...] = (
    Pane("strings", "Strings", StringList, LEFT),
    Pane("heat_grid", "Heat-grid", HeatGrid, LEFT),
    Pane("key_points", "Key points and conditions", KeyPointPane, BOTTOM),
    _tab("findings", "Findings", "strings.findings_pane.FindingsPane"),
    _tab("mismatch", "Mismatch", "strings.mismatch_pane.MismatchPane"),
    _tab("overview", "Site overview", "strings.overview_pane.OverviewPane"),
    _tab("unreadable", "Unreadable files", "strings.unreadable_pane.UnreadablePane"),
    _tab("years", "Over the years", "years.years_pane.YearsPane", shown=False),
    _tab("changes", "Against a visit", "years.change_pane.ChangePane", shown=False),
    _tab("at_the_string", "At the string", "before_visit.expect_pane.ExpectPane", shown=False),
    _tab("sweep", "Sweep and fit", "strings.sweep_pane.SweepPane"),
    _tab("datasheet", "Datasheet", "before_visit.datasheet_pane.DatasheetPane", shown=False),
    _tab("limits", "Electrical limits", "before_visit.limits_pane.LimitsPane", shown=False),
    _tab("good_hours", "Good hours", "before_visit.hours_pane.HoursPane", shown=False),
    _tab("notes", "Notes and repairs", "strings.notes_pane.NotesPane", shown=False),
    _tab("sample", "Sample", "years.sample_pane.SamplePane", shown=False),
    _tab("warranty", "Warranty", "years.warranty_pane.WarrantyPane", shown=False),
    _tab("report", "Report", "reporting.report_pane.ReportPane", shown=False),
    Pane(
        "import",
        "Import files",
        Later("importing.import_pane.ImportPane"),
        RIGHT,
        shown=False,
        floating=True,
        size=(1180, 680),
    ),
    Pane(
        "settings",
        "Settings",
        Later("program.settings_pane.SettingsPane"),
        RIGHT,
        shown=False,
        floating=True,
        escapes=True,
    ),
    Pane("help", "Help", HelpPane, RIGHT, shown=False, floating=True, escapes=True),
)
