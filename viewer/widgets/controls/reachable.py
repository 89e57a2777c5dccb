"""Makes what a pane holds reachable by keyboard in the order it is read, and spoken by its name."""

from collections.abc import Iterator
from itertools import pairwise

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QDialogButtonBox,
    QGridLayout,
    QLayout,
    QLineEdit,
    QPlainTextEdit,
    QScrollArea,
    QSplitter,
    QStackedWidget,
    QTableView,
    QTabWidget,
    QTextBrowser,
    QToolButton,
    QWidget,
)


def make_reachable(root: QWidget) -> None:
    """The Tab key walks through the widgets under `root` line by line and is caught by none."""
    for table in root.findChildren(QTableView):
        table.setTabKeyNavigation(False)  # arrows move among cells, Tab leaves the table
    for text in root.findChildren(QPlainTextEdit):
        text.setTabChangesFocus(True)
    for box in root.findChildren(QComboBox):
        _say_what_is_chosen(box)
    for page in root.findChildren(QTextBrowser):
        _say_what_stands_there(page)
    for line in root.findChildren(QLineEdit):
        for button in line.findChildren(QToolButton):
            button.setAccessibleName("Clear")
    for one, after in pairwise(reading_order(root)):
        QWidget.setTabOrder(one, after)


def _say_what_stands_there(page: QTextBrowser) -> None:
    """A screen reader takes a page that only shows words for a label and says its name alone.

    So its words are its description, and arrow keys move a cursor through it, line by line.
    """
    keys = Qt.TextInteractionFlag.TextSelectableByKeyboard
    page.setTextInteractionFlags(page.textInteractionFlags() | keys)
    page.textChanged.connect(lambda: page.setAccessibleDescription(page.toPlainText()))
    page.setAccessibleDescription(page.toPlainText())


def _say_what_is_chosen(box: QComboBox) -> None:
    """On Linux Qt gives the chosen entry as the name of a combo box: say first what it chooses."""
    name, said = box.accessibleName(), box.toolTip()
    if name and not box.accessibleDescription():
        box.setAccessibleDescription(f"{name}: {said}" if said else name)


def reading_order(root: QWidget) -> list[QWidget]:
    """What takes the focus under `root`, as it lies in the layouts: lines first, then columns."""
    return [one for one in _walk(root) if one.focusPolicy() & Qt.FocusPolicy.TabFocus]


def _walk(widget: QWidget) -> Iterator[QWidget]:
    inside = _held(widget)
    if inside is None:
        yield widget
        return
    yield widget
    for one in inside:
        yield from _walk(one)


def _held(widget: QWidget) -> list[QWidget] | None:
    """The widgets that another one lays out, in order; None where there are none."""
    if isinstance(widget, QTabWidget):
        return [widget.tabBar(), *_pages(widget)]
    if isinstance(widget, QSplitter | QStackedWidget):
        return _pages(widget)
    if isinstance(widget, QScrollArea):
        inside = widget.widget()
        return None if inside is None else [inside]
    layout = widget.layout()
    if layout is None or isinstance(widget, QDialogButtonBox):
        return None
    return list(_laid_out(layout))


def _pages(widget: QTabWidget | QSplitter | QStackedWidget) -> list[QWidget]:
    pages = (widget.widget(place) for place in range(widget.count()))
    return [page for page in pages if page is not None]


def _laid_out(layout: QLayout) -> Iterator[QWidget]:
    for place in _places(layout):
        item = layout.itemAt(place)
        widget = item.widget() if item is not None else None
        inner = item.layout() if item is not None else None
        if widget is not None:
            yield widget
        elif inner is not None:
            yield from _laid_out(inner)


def _places(layout: QLayout) -> list[int]:
    """Indices of a layout's items in reading order."""
    places = list(range(layout.count()))
    if isinstance(layout, QGridLayout):
        places.sort(key=lambda place: layout.getItemPosition(place)[:2])  # type: ignore[index]
    return places
