"""The main window: places the panes around the plot and remembers where they lie."""

from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QByteArray, QSize, Qt
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import (
    QApplication,
    QDockWidget,
    QLabel,
    QMainWindow,
    QMenu,
    QToolBar,
    QWidget,
)

from viewer.app.panes import BOTTOM, LEFT, PANES, RIGHT, Pane
from viewer.app.window_actions import WindowActions
from viewer.state.actions import SESSION_ACTIONS
from viewer.state.session import Session
from viewer.widgets.action_menus import ActionSet
from viewer.widgets.binding import follow
from viewer.widgets.curve_plot import CurvePlot
from viewer.widgets.icons import icon
from viewer.widgets.theme import Look, dress
from viewer.widgets.work_strip import WorkStrip

MENUS: tuple[str, ...] = ("&File", "&Strings", "&Curves")
TOOLS: tuple[str, ...] = ("open_folder", "previous_suspect", "next_suspect", "pin", "export")
LAYOUT_VERSION = 1
"""Raise it when panes change so that a remembered layout no longer fits."""
SMALLEST = QSize(960, 600)


class MainWindow(QMainWindow):
    def __init__(self, session: Session, look: Look) -> None:
        super().__init__()
        self.session = session
        self.look = look
        self.plot = CurvePlot(session, look)
        self.docks: dict[str, QDockWidget] = {}
        self.setCentralWidget(self.plot)
        self.setAcceptDrops(True)
        self.setMinimumSize(SMALLEST)
        self.window_actions = WindowActions(self, session, self.plot.figure)
        table = (*self.window_actions.table(), *SESSION_ACTIONS)
        self.actions_by_id = ActionSet(table, session, look, self)
        for pane in PANES:
            self._add_pane(pane)
        self._fill_menus()
        self._fill_status_line()
        for notifier, method in (
            (session.opened, self._show_title),
            (session.arrived, self._show_title),
            (session.message.changed, self._show_message),
            (look.theme.changed, self._dress),
        ):
            follow(self, notifier, method)
        self._dress()
        self._show_title()
        self.default_layout()
        self._restore_layout()

    def pane(self, name: str) -> QWidget:
        """The widget of a pane by its id, made now if it was not shown before."""
        self._make_widget(name)
        return self.docks[name].widget()

    def _make_widget(self, name: str) -> None:
        dock = self.docks[name]
        if dock.widget() is None:
            factory = next(pane.factory for pane in PANES if pane.id == name)
            dock.setWidget(factory(self.session, self.look))

    def _add_pane(self, pane: Pane) -> None:
        """A dock; what it holds is made when it is first seen, so unseen panes cost nothing."""
        dock = QDockWidget(pane.title, self)
        dock.setObjectName(f"pane_{pane.id}")
        self.addDockWidget(pane.area, dock)
        if pane.with_pane:
            self.tabifyDockWidget(self.docks[pane.with_pane], dock)
        dock.setVisible(pane.shown)
        self.docks[pane.id] = dock
        if pane.shown and not pane.with_pane:
            self._make_widget(pane.id)
        dock.visibilityChanged.connect(
            lambda seen, name=pane.id: self._make_widget(name) if seen else None
        )

    def _fill_menus(self) -> None:
        bar = self.menuBar()
        self.actions_by_id.fill(bar, MENUS)
        file_menu = bar.actions()[0].menu()
        self._recent = QMenu("Recent folders", self)
        self._recent.aboutToShow.connect(self._fill_recent)
        assert isinstance(file_menu, QMenu)
        file_menu.insertMenu(self.actions_by_id.qt["export"], self._recent)
        file_menu.addSeparator()
        quit_action = file_menu.addAction("Quit")
        quit_action.setShortcut("Ctrl+Q")
        quit_action.triggered.connect(self.close)
        view = bar.addMenu("&View")
        for pane in PANES:
            view.addAction(self.docks[pane.id].toggleViewAction())
        view.addSeparator()
        self._add_theme_menu(view)
        view.addAction("Default layout").triggered.connect(self.default_layout)
        tools = QToolBar("Tools", self)
        tools.setObjectName("tools")
        tools.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        tools.setIconSize(QSize(16, 16))
        for name in TOOLS:
            tools.addAction(self.actions_by_id.qt[name])
        self.addToolBar(tools)

    def _add_theme_menu(self, view: QMenu) -> None:
        menu = view.addMenu("Colours")
        for name, title in (("system", "As the system"), ("light", "Light"), ("dark", "Dark")):
            action = menu.addAction(title)
            action.triggered.connect(lambda _=False, chosen=name: self._choose_theme(chosen))

    def _choose_theme(self, name: str) -> None:
        settings = self.session.settings
        settings.value = replace(settings.value, theme=name)

    def _fill_recent(self) -> None:
        self._recent.clear()
        for folder in self.session.settings.value.recent_folders:
            action = self._recent.addAction(folder)
            action.triggered.connect(lambda _=False, path=folder: self.session.open(Path(path)))
        if self._recent.isEmpty():
            self._recent.addAction("none yet").setEnabled(False)

    def _fill_status_line(self) -> None:
        self._message = QLabel(self)
        self._message.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.statusBar().addWidget(self._message, 1)
        self.statusBar().addPermanentWidget(WorkStrip(self.session, self.look, self))

    def _show_message(self, text: str) -> None:
        self._message.setText(text)

    def _show_title(self, *_: object) -> None:
        layout = self.session.layout
        self.setWindowTitle(f"{layout.name} – Curvewright" if layout else "Curvewright")
        count = len(self.session.unreadable)
        self.docks["unreadable"].setWindowTitle(
            f"Unreadable files ({count})" if count else "Unreadable files"
        )

    def _dress(self, *_: object) -> None:
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        dress(application, self.look.theme.value)
        self.setWindowIcon(icon("curvewright", self.look.theme.value.accent))

    def default_layout(self) -> None:
        """Strings over heat-grid at the left, plot over key points at the right."""
        self.setCorner(Qt.Corner.BottomLeftCorner, LEFT)
        self.setCorner(Qt.Corner.BottomRightCorner, RIGHT)
        for pane in PANES:
            dock = self.docks[pane.id]
            dock.setFloating(False)
            self.addDockWidget(pane.area, dock)
            if pane.with_pane:
                self.tabifyDockWidget(self.docks[pane.with_pane], dock)
            dock.setVisible(pane.shown)
        left = [self.docks[pane.id] for pane in PANES if pane.area == LEFT]
        bottom = [self.docks[pane.id] for pane in PANES if pane.area == BOTTOM]
        width, height = max(self.width(), 1280), max(self.height(), 720)
        self.resizeDocks(left, [round(width * 0.38)] * len(left), Qt.Orientation.Horizontal)
        self.resizeDocks(left, [round(height * 0.45)] * len(left), Qt.Orientation.Vertical)
        self.resizeDocks(bottom[:1], [round(height * 0.28)], Qt.Orientation.Vertical)
        bottom[0].raise_()

    def _restore_layout(self) -> None:
        settings = self.session.settings.value
        if settings.window_geometry:
            self.restoreGeometry(QByteArray.fromBase64(settings.window_geometry.encode()))
        if settings.window_layout:
            self.restoreState(
                QByteArray.fromBase64(settings.window_layout.encode()), LAYOUT_VERSION
            )

    def remember_layout(self) -> None:
        settings = self.session.settings
        settings.value = replace(
            settings.value,
            window_geometry=bytes(self.saveGeometry().toBase64().data()).decode(),
            window_layout=bytes(self.saveState(LAYOUT_VERSION).toBase64().data()).decode(),
        )

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if dropped_path(event) is not None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        path = dropped_path(event)
        if path is not None:
            event.acceptProposedAction()
            self.session.open(path)

    def closeEvent(self, event: QCloseEvent) -> None:
        self.session.jobs.cancel_all()
        self.remember_layout()
        super().closeEvent(event)


def dropped_path(event: QDropEvent) -> Path | None:
    """The first folder or file that was dropped; a file in a visit stands for its folder."""
    for url in event.mimeData().urls():
        if url.isLocalFile():
            path = Path(url.toLocalFile())
            if path.name == "site.toml":
                return path.parent
            if path.exists():
                return path
    return None
