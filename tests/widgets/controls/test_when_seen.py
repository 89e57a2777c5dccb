from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDockWidget, QLabel, QMainWindow, QVBoxLayout, QWidget

from viewer.widgets.controls.when_seen import WhenSeen


class Counting(QWidget):
    """Filled but for its margins, like a pane."""

    def __init__(self) -> None:
        super().__init__()
        self.done = 0
        self.words = QLabel(self)
        self.words.setAutoFillBackground(True)
        QVBoxLayout(self).addWidget(self.words)
        self.later = WhenSeen(self, self.work)

    def work(self) -> None:
        self.done += 1
        self.words.setText(str(self.done))


def test_what_is_in_sight_is_worked_on_at_once(shown):
    widget = shown(Counting())
    widget.later.ask()
    widget.later.ask("news of a notifier")
    assert widget.done == 2


def test_what_is_hidden_waits_until_it_is_shown(qtbot, qapp):
    widget = Counting()
    qtbot.addWidget(widget)
    for _ in range(3):
        widget.later.ask()
    assert widget.done == 0
    with qtbot.waitExposed(widget):
        widget.show()
    qapp.processEvents()
    assert widget.done == 1
    widget.hide()
    widget.later.ask()
    assert widget.done == 1
    widget.show()
    qapp.processEvents()
    assert widget.done == 2


def test_what_lies_behind_another_tab_waits_until_it_comes_to_the_front(shown, qapp):
    window = QMainWindow()
    docks = [QDockWidget(str(number), window) for number in range(2)]
    for dock in docks:
        dock.setWidget(Counting())
        window.addDockWidget(Qt.DockWidgetArea.BottomDockWidgetArea, dock)
    window.tabifyDockWidget(*docks)
    shown(window)
    front, behind = (dock.widget() for dock in docks)
    docks[0].raise_()
    qapp.processEvents()
    for one in (front, behind):
        one.later.ask()
    assert (front.done, behind.done) == (1, 0)
    docks[1].raise_()
    qapp.processEvents()
    assert behind.done == 1
