from PySide6.QtWidgets import QComboBox, QHBoxLayout, QTabWidget, QWidget

from viewer.widgets.controls.made_when_seen import MadeWhenSeen


class Page(QWidget):
    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.box = QComboBox(self)
        self.box.setAccessibleName("Kind")
        QHBoxLayout(self).addWidget(self.box)


def two_pages() -> tuple[QTabWidget, list[MadeWhenSeen], list[Page]]:
    made: list[Page] = []

    def make(parent: QWidget) -> Page:
        made.append(Page(parent))
        return made[-1]

    tabs = QTabWidget()
    holders = [MadeWhenSeen(make) for _ in range(2)]
    for number, holder in enumerate(holders):
        tabs.addTab(holder, str(number))
    return tabs, holders, made


def test_a_page_is_made_once_when_it_comes_to_the_front(shown):
    tabs, holders, made = two_pages()
    assert made == []
    shown(tabs)
    assert [holders[0].held] == made
    tabs.setCurrentIndex(1)
    tabs.setCurrentIndex(0)
    tabs.setCurrentIndex(1)
    assert [one.held for one in holders] == made
    assert made[1].isVisible()
    assert made[1].width() == holders[1].width()


def test_a_page_that_is_asked_for_is_made_and_can_be_reached(qtbot):
    tabs, holders, made = two_pages()
    qtbot.addWidget(tabs)
    page = holders[1].held
    assert made == [page]
    assert page.parentWidget() is holders[1]
    assert page.box.accessibleDescription() == "Kind"
