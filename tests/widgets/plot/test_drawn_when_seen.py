from PySide6.QtWidgets import QStackedWidget

from viewer.widgets.plot.drawn_when_seen import DrawnWhenSeen


class Counting(DrawnWhenSeen):
    def __init__(self) -> None:
        super().__init__()
        self.drawn = 0

    def draw(self) -> None:
        self.drawn += 1
        self.plot([0.0, 1.0], [0.0, float(self.drawn)])


def test_what_is_asked_of_a_plot_several_times_is_drawn_once(shown, qapp):
    plot = shown(Counting())
    qapp.processEvents()
    assert plot.drawn == 0
    for _ in range(5):
        plot.draw_later()
    assert plot.drawn == 0
    qapp.processEvents()
    assert plot.drawn == 1
    for _ in range(3):
        qapp.processEvents()
    assert plot.drawn == 1, "drawing must not ask for itself again"


def test_a_plot_that_nobody_sees_is_drawn_when_it_comes_to_the_front(shown, qapp):
    pages, plot = QStackedWidget(), Counting()
    front = Counting()
    pages.addWidget(front)
    pages.addWidget(plot)
    shown(pages)
    plot.draw_later()
    qapp.processEvents()
    assert plot.drawn == 0
    pages.setCurrentWidget(plot)
    qapp.processEvents()
    assert plot.drawn == 1


def test_a_picture_of_an_unseen_plot_shows_what_it_would(qtbot):
    plot = Counting()
    qtbot.addWidget(plot)
    plot.draw_later()
    plot.grab()
    assert plot.drawn == 1


def test_a_plot_has_no_menu_that_nobody_opens(qtbot):
    plot = Counting()
    qtbot.addWidget(plot)
    assert plot.getPlotItem().vb.menu is None
