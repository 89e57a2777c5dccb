"""A user who does anything at all, by a seed: valid and invalid actions on a real window."""

import random
import string
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QEvent, QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QTableView

from tests.invented_results import InventedOpener, invented_result, invented_visits
from viewer.app.window.main_window import MainWindow
from viewer.state.session import Arrival, Session

MODIFIERS = (
    Qt.KeyboardModifier.NoModifier,
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.ShiftModifier,
)
KEYS = (
    Qt.Key.Key_Up,
    Qt.Key.Key_Down,
    Qt.Key.Key_PageDown,
    Qt.Key.Key_End,
    Qt.Key.Key_Home,
    Qt.Key.Key_Tab,
    Qt.Key.Key_Space,
    Qt.Key.Key_Escape,
    Qt.Key.Key_F8,
    Qt.Key.Key_A,
)
UNTOUCHED = {"quit"}


class RandomUser:
    """`act` does one thing and returns its kind, which one it was where there are several (an
    action, a pane), and how long the window took, in seconds. What was given up is deleted then,
    which an event loop would do."""

    def __init__(self, window: MainWindow, session: Session, folder: Path, seed: int) -> None:
        self.window = window
        self.session = session
        self.folder = folder
        self.dice = random.Random(seed)
        self.empty = folder / "empty"
        """Not the root of the disk: saved as a site file it would be read whole."""
        self.empty.mkdir(exist_ok=True)
        visits = invented_visits()
        self.openers = (
            InventedOpener(visits),
            InventedOpener(visits, batch=1),
            InventedOpener([]),
            InventedOpener([], problem="There is no site.toml here."),
            InventedOpener([invented_result("", "", with_prediction=False)]),
        )
        self.more = {
            known: invented_result("C9", "S0", with_prediction=known) for known in (True, False)
        }
        self.deeds: tuple[Callable[[], object], ...] = (
            *(self.click_grid,) * 4,
            *(self.click_list,) * 4,
            *(self.press_key,) * 3,
            *(self.run_action,) * 4,
            *(self.move_mouse_over_plot,) * 3,
            self.type_filter,
            self.sort,
            self.choose_visit,
            self.choose_panels,
            self.zoom,
            self.resize,
            self.toggle_pane,
            self.change_settings,
            self.open_something,
            self.receive_more,
            self.select_odd_things,
            self.drop,
            self.search_command,
        )

    def act(self) -> tuple[str, str, float]:
        deed = self.dice.choice(self.deeds)
        start = time.perf_counter()
        which = deed()
        QApplication.processEvents()
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
        return deed.__name__, str(which or ""), time.perf_counter() - start

    def chosen_path(self) -> str:
        """What a file dialog gives: a good place, one that cannot be written, or nothing."""
        name = self.dice.choice(("a.png", "b.svg", "c.csv", "d.bmp", "e", "settings.toml"))
        good = str(self.folder / name)
        return self.dice.choice((good, good, "/nowhere/at/all/" + name, ""))

    def _click(self, view: QTableView) -> None:
        model = view.model()
        if not model.rowCount():
            return
        row = self.dice.randrange(model.rowCount())
        index = model.index(row, self.dice.randrange(model.columnCount()))
        view.scrollTo(index)
        place = view.visualRect(index).center()
        modifier = self.dice.choice(MODIFIERS)
        QTest.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, modifier, place)

    def click_grid(self) -> None:
        self._click(self.window.pane("heat_grid").view)

    def click_list(self) -> None:
        self._click(self.window.pane("strings").view)

    def press_key(self) -> None:
        target = self.dice.choice(
            (self.window, self.window.pane("strings").view, self.window.pane("heat_grid").view)
        )
        QTest.keyClick(target, self.dice.choice(KEYS), self.dice.choice(MODIFIERS))

    def run_action(self) -> str:
        names = sorted(set(self.window.actions_by_id.table) - UNTOUCHED)
        name = self.dice.choice(names)
        self.window.actions_by_id.run(name)
        self.window.finder.hide()
        return name

    def move_mouse_over_plot(self) -> None:
        canvas = self.window.plot.canvas
        place = QPointF(
            self.dice.uniform(-20, canvas.width() + 20),
            self.dice.uniform(-20, canvas.height() + 20),
        )
        self.window.plot.crosshair._moved((place,))

    def type_filter(self) -> None:
        strings = self.window.pane("strings")
        count = self.dice.randrange(4)
        strings.words.setText("".join(self.dice.choices(string.printable + "S1", k=count)))
        strings.arrange()

    def sort(self) -> None:
        header = self.window.pane("strings").view.horizontalHeader()
        orders = (Qt.SortOrder.AscendingOrder, Qt.SortOrder.DescendingOrder)
        header.setSortIndicator(self.dice.randrange(header.count()), self.dice.choice(orders))

    def choose_visit(self) -> None:
        names = [None, *(visit.name for visit in self.session.visits), "a visit that is not there"]
        self.session.choices.visit.value = self.dice.choice(names)

    def choose_panels(self) -> None:
        self.session.choices.panels.value = self.dice.choice(
            (("iv",), ("pv",), ("iv", "pv"), ("iv", "pv", "difference"), ("difference",))
        )

    def zoom(self) -> None:
        for items in self.window.plot.canvas.panels.values():
            factor = self.dice.choice((0.01, 0.5, 0.9, 1.1, 2.0, 50.0))
            items.plot.vb.scaleBy((factor, self.dice.choice((factor, 1.0))))
            items.plot.vb.translateBy(x=self.dice.uniform(-500, 500))

    def resize(self) -> None:
        self.window.resize(self.dice.randrange(300, 2200), self.dice.randrange(200, 1300))

    def toggle_pane(self) -> str:
        name, dock = self.dice.choice(list(self.window.docks.by_id.items()))
        dock.setVisible(not dock.isVisible())
        return f"{name} {'shown' if dock.isVisible() else 'hidden'}"

    def change_settings(self) -> str:
        settings, before = self.session.settings, self.window.look.theme.value
        settings.value = replace(
            settings.value,
            theme=self.dice.choice(("light",) * 8 + ("dark", "system")),
            short_below=self.dice.uniform(0.5, 1.0),
            watch_below=self.dice.uniform(0.5, 1.0),
            grid_range=self.dice.uniform(1.0, 50.0),
            styled_curves=self.dice.randrange(1, 7),
        )
        return "" if self.window.look.theme.value is before else "with another theme"

    def open_something(self) -> None:
        self.session.opener = self.dice.choice(self.openers)
        self.session.open(self.folder)

    def receive_more(self) -> None:
        name = f"S{self.dice.randrange(100)}"
        result = self.more[self.dice.random() < 0.7]
        result = replace(result, trace=replace(result.trace, source=f"{name}.csv", string=name))
        self.session.take([Arrival(results=(result,))])

    def select_odd_things(self) -> None:
        ids = [one.trace.source for one in self.session.results]
        ids += ["a trace that is not there"]
        count = self.dice.randrange(len(ids) + 1)
        self.session.selection.choose(self.dice.sample(ids, count), self.dice.choice(ids))

    def drop(self) -> None:
        data = QMimeData()
        paths = (self.folder, self.folder / "not there", self.empty)
        data.setUrls([QUrl.fromLocalFile(str(self.dice.choice(paths)))])
        data.setUrls(data.urls() if self.dice.random() < 0.8 else [QUrl("https://example.org/")])
        where = QPointF(QPoint(30, 30))
        action, button = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton
        self.window.dropEvent(QDropEvent(where, action, data, button, MODIFIERS[0]))

    def search_command(self) -> None:
        finder = self.window.finder
        finder.search("".join(self.dice.choices(string.ascii_lowercase + " ", k=2)))
        finder.list.setCurrentRow(self.dice.randrange(-1, max(1, finder.list.count())))
