"""The main window: places the panes around the plot, and hands out what is asked of it."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QShowEvent
from PySide6.QtWidgets import (
    QApplication,
    QLabel,
    QMainWindow,
    QMenu,
    QSizePolicy,
    QToolBar,
    QToolButton,
    QWidget,
)

from viewer.app.window.desks import DESKS, Desks
from viewer.app.window.lesson_desk import LessonDesk
from viewer.app.window.pane_docks import PaneDocks
from viewer.app.window.pane_steps import PaneSteps
from viewer.app.window.panes import PANES
from viewer.app.window.plot_actions import PlotActions
from viewer.app.window.window_actions import WindowActions
from viewer.site_data.site_file.connection import looks_like_site_file
from viewer.site_data.site_toml import FILE_NAME
from viewer.state.actions import SESSION_ACTIONS
from viewer.state.session import Session
from viewer.widgets.controls.action_menus import ActionSet
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.focus_ring import FocusRing
from viewer.widgets.controls.house_style import dress
from viewer.widgets.controls.icons import icon
from viewer.widgets.controls.page_stack import PageStack
from viewer.widgets.controls.reachable import make_reachable, reading_order
from viewer.widgets.controls.theme import Look
from viewer.widgets.importing.dropped_paths import local_paths, pictures_among
from viewer.widgets.plot.curve_plot import CurvePlot
from viewer.widgets.program.command_finder import CommandFinder
from viewer.widgets.program.help_pane import HelpPane
from viewer.widgets.program.start_page import StartPage
from viewer.widgets.program.work_strip import WorkStrip

if TYPE_CHECKING:  # the panes themselves are loaded when they are first shown
    from viewer.widgets.importing.import_pane import ImportPane
    from viewer.widgets.strings.findings_pane import FindingsPane

MENUS: tuple[str, ...] = ("&File", "&Strings", "&Curves", "&View", "&Help")
TOOLS: tuple[str, ...] = (
    "open_folder",
    "previous_suspect",
    "next_suspect",
    "pin",
    "export",
    "find_command",
)
SMALLEST = QSize(960, 600)
MORE = "qt_toolbar_ext_button"
"""What Qt calls the button at the end of a tool bar behind which lies what has no room."""


class MainWindow(QMainWindow):
    def __init__(self, session: Session, look: Look) -> None:
        super().__init__()
        self.session = session
        self.look = look
        self._shared_out = False
        self._begins = True
        """The page of the ways to begin is shown."""
        self.setAcceptDrops(True)
        self.setMinimumSize(SMALLEST)
        self.plot = CurvePlot(session, look)
        self.window_actions = WindowActions(self, session, self.plot.figure)
        self.middle = PageStack(self)
        self.docks = PaneDocks(self, PANES, session, look)
        self.lesson = LessonDesk(self, self.middle, self.docks, session, look)
        doors = (*self.window_actions.doors(), self.lesson.door())
        self.middle.addWidget(StartPage(session, look, doors))
        self.middle.addWidget(self.plot)
        self.setCentralWidget(self.middle)
        self.docks.made.connect(self._pane_made)
        self.desks = Desks(self.docks, self.lesson.leave, lambda: self.lesson.shown)
        plot_actions = PlotActions(self, self.plot.figure)
        table = (
            *self.window_actions.table(),
            *plot_actions.table(),
            *self.desks.actions(),
            *self.lesson.actions(),
            *PaneSteps(self.middle, self.docks).actions(),
            *SESSION_ACTIONS,
        )
        self.actions_by_id = ActionSet(table, session, look, self)
        self.finder = CommandFinder(self.actions_by_id, session, self)
        self._fill_menus()
        self._fill_status_line()
        for notifier, method in (
            (session.opened, self._show_what_is_open),
            (session.arrived, self._show_what_is_open),
            (session.jobs.changed, self._show_what_is_open),
            (session.message.changed, self._show_message),
            (look.theme.changed, self._dress),
        ):
            follow(self, notifier, method)
        self.middle.currentChanged.connect(self._page_turned)
        self.lesson.left.connect(self._show_what_is_open)
        for signal in (self.lesson.opened, self.lesson.left):
            signal.connect(self.actions_by_id.renew)
        follow(self.actions_by_id, self.desks.current.changed, self.actions_by_id.renew)
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        self.focus_ring = FocusRing(application, self)
        self._dress()
        self._show_what_is_open()
        self.docks.default_layout()
        self.docks.restore()
        for held in (self.middle, *(self.docks.held(pane.id) for pane in PANES)):
            if held is not None:
                make_reachable(held)

    def pane(self, name: str) -> QWidget:
        """The widget of a pane by its id."""
        return self.docks.widget(name)

    def _pane_made(self, name: str) -> None:
        widget = self.docks.widget(name)
        make_reachable(widget)
        if isinstance(widget, HelpPane):
            widget.know_actions(self.actions_by_id.table.values())

    def _fill_menus(self) -> None:
        bar = self.menuBar()
        menus = self.actions_by_id.fill(bar, MENUS)
        self._recent = QMenu("Recent", self)
        self._recent.aboutToShow.connect(self._fill_recent)
        menus["File"].insertMenu(self.actions_by_id.qt["export"], self._recent)
        menus["View"].addSeparator()
        for pane in PANES:
            menus["View"].addAction(self.docks.by_id[pane.id].toggleViewAction())
        tools = QToolBar("Tools", self)
        tools.setObjectName("tools")
        tools.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        tools.setIconSize(QSize(16, 16))
        for name in TOOLS:
            tools.addAction(self.actions_by_id.qt[name])
        self.addToolBar(tools)
        self.addToolBar(self._desk_bar())

    def _desk_bar(self) -> QToolBar:
        bar = QToolBar("Desks", self)
        bar.setObjectName("desks")
        bar.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)
        for desk in DESKS:
            bar.addAction(self.actions_by_id.qt[f"desk_{desk.id}"])
        bar.addAction(self.actions_by_id.qt["lesson"])
        return bar

    def _fill_recent(self) -> None:
        self._recent.clear()
        for folder in self.session.settings.value.recent_folders:
            action = self._recent.addAction(folder)
            action.triggered.connect(lambda _=False, path=folder: self.session.open(Path(path)))
        if self._recent.isEmpty():
            self._recent.addAction("none yet").setEnabled(False)

    def _fill_status_line(self) -> None:
        self._message = QLabel(self)
        policy = self._message.sizePolicy()
        policy.setHorizontalPolicy(QSizePolicy.Policy.Ignored)
        self._message.setSizePolicy(policy)
        self._message.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.statusBar().addWidget(self._message, 1)
        self.statusBar().addPermanentWidget(WorkStrip(self.session, self.look, self))

    def _show_message(self, text: str) -> None:
        self._message.setText(text)
        self._message.setToolTip(text)

    def _show_what_is_open(self, *_: object) -> None:
        """The site's name, the number of unreadable files, and the start page if nothing is."""
        session = self.session
        name = session.layout.name if session.layout else ""
        self.setWindowTitle(f"{name} – Curvewright" if name else "Curvewright")
        count = len(session.unreadable)
        title = f"Unreadable files ({count})" if count else "Unreadable files"
        self.docks.by_id["unreadable"].setWindowTitle(title)
        open_now = session.layout is not None or session.jobs.current is not None
        if not self.lesson.shown:
            self.middle.setCurrentIndex(1 if open_now else 0)

    def _dress(self, *_: object) -> None:
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        dress(application, self.look.theme.value)
        self.setWindowIcon(icon("curvewright", self.look.theme.value.accent))
        for more in self.findChildren(QToolButton, MORE):
            more.setIcon(icon("more", self.look.theme.value.text))  # Qt's own is dark on dark
            more.setAccessibleName("What has no room in the tool bar")

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if local_paths(event.mimeData()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """A folder or site file is opened, pictures go to the string, all else can be imported."""
        paths = local_paths(event.mimeData())
        if not paths:
            return
        event.acceptProposedAction()
        opened = openable(paths[0])
        if opened is not None:
            self.session.open(opened)
        elif pictures_among(paths) and self.session.current is not None:
            self.docks.show("findings")
            cast("FindingsPane", self.docks.widget("findings")).attach(paths)
        else:
            self.docks.show("import")
            cast("ImportPane", self.docks.widget("import")).importing.add(paths)

    def showEvent(self, event: QShowEvent) -> None:
        """Only now has the window its size, of which each place is given its share."""
        super().showEvent(event)
        if not self._shared_out:
            self._shared_out = True
            if not self.session.settings.value.window_layout:
                self.docks.share_out()
            self._place_keyboard()

    def _place_keyboard(self) -> None:
        """To the list once something is open, where arrow keys go from string to string, and to
        the ways to begin before; not to the chooser of the visit, which comes first of all."""
        ways, strings = self.middle.widget(0), self.docks.held("strings")
        if self._begins and ways is not None:
            next(iter(reading_order(ways))).setFocus()
        elif strings is not None and strings.isVisible():
            strings.setFocus()

    def _page_turned(self, page: int) -> None:
        begun, self._begins = self._begins and page != 0, page == 0
        if begun:
            self._place_keyboard()

    def closeEvent(self, event: QCloseEvent) -> None:
        self.session.jobs.cancel_all()
        self.lesson.leave()
        settings = self.session.settings
        settings.value = replace(settings.value, **self.docks.remembered())
        super().closeEvent(event)


def openable(path: Path) -> Path | None:
    """What to open for a dropped path; a site.toml stands for its folder; None for a table."""
    if path.name == FILE_NAME:
        return path.parent
    return path if path.is_dir() or looks_like_site_file(path) else None
