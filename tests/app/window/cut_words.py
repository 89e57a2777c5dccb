"""Finds words that a widget has no room for: what people would see cut off or with dots."""

from collections.abc import Iterator

from PySide6.QtCore import QRect, Qt
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QCheckBox,
    QComboBox,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QRadioButton,
    QScrollArea,
    QStyle,
    QStyleOptionComboBox,
    QTabBar,
    QTableView,
    QToolButton,
    QWidget,
)

EDIT_MARGIN = 4
"""Of a line edit at both sides together, inside its frame: Qt's own constant is 2 each."""


def cut_words(widget: QWidget) -> list[str]:
    """A line for every label, button, heading, tab, choice or entry in sight that is cut."""
    found: list[str] = []
    for one in widget.findChildren(QWidget):
        if one.isVisible():
            found += [f"{type(one).__name__} {said}" for said in _cut(one)]
            found += _outside(one)
    return found


def sideways(widget: QWidget) -> list[str]:
    """The tables in sight whose last columns are seen only after moving sideways."""
    tables = [one for one in widget.findChildren(QTableView) if one.isVisible()]
    return [one.accessibleName() for one in tables if one.horizontalScrollBar().maximum() > 0]


def _cut(one: QWidget) -> Iterator[str]:
    if isinstance(one, QLabel):
        yield from _label(one)
    elif isinstance(one, QPushButton | QCheckBox | QRadioButton | QToolButton):
        if one.text() and one.width() < one.sizeHint().width():
            yield f"{one.text()!r}: {one.width()} of {one.sizeHint().width()} pixels"
    elif isinstance(one, QComboBox):
        yield from _chosen(one)
    elif isinstance(one, QAbstractSpinBox):
        yield from _entry(one.lineEdit(), one.text())
    elif isinstance(one, QLineEdit) and not isinstance(one.parent(), QAbstractSpinBox | QComboBox):
        yield from _entry(one, one.placeholderText())
    elif isinstance(one, QHeaderView):
        yield from _headings(one)
    elif isinstance(one, QScrollArea):
        beyond = one.horizontalScrollBar().maximum()
        if beyond > 0:
            yield f"{one.accessibleName()!r} must be moved sideways by {beyond} pixels"
    elif isinstance(one, QTabBar) and one.width() < one.sizeHint().width():
        yield f"{one.tabText(0)!r} …: {one.width()} of {one.sizeHint().width()} pixels"


def _label(one: QLabel) -> Iterator[str]:
    if not one.text():
        return
    if one.wordWrap():
        need, has, way = one.heightForWidth(one.width()), one.height(), "high"
    else:
        need, has, way = one.sizeHint().width(), one.width(), "wide"
    if has < need:
        yield f"{one.text()!r}: {has} of {need} pixels {way}"


def _chosen(one: QComboBox) -> Iterator[str]:
    option = QStyleOptionComboBox()
    one.initStyleOption(option)
    field = one.style().subControlRect(
        QStyle.ComplexControl.CC_ComboBox, option, QStyle.SubControl.SC_ComboBoxEditField, one
    )
    need = one.fontMetrics().horizontalAdvance(one.currentText())
    if field.width() < need:
        yield f"{one.currentText()!r}: {field.width()} of {need} pixels"


def _entry(edit: QLineEdit, text: str) -> Iterator[str]:
    need = edit.fontMetrics().horizontalAdvance(text) + EDIT_MARGIN
    if edit.width() < need:
        yield f"{text!r}: {edit.width()} of {need} pixels"


def _headings(header: QHeaderView) -> Iterator[str]:
    model = header.model()
    for section in range(header.count() if model is not None else 0):
        if header.isSectionHidden(section):
            continue
        text = model.headerData(section, header.orientation(), Qt.ItemDataRole.DisplayRole)
        across = header.orientation() == Qt.Orientation.Horizontal
        need = header.fontMetrics().horizontalAdvance(str(text or ""))
        has = header.sectionSize(section) if across else header.width()
        if has < need:
            yield f"{text!r}: {has} of {need} pixels"


def _outside(one: QWidget) -> Iterator[str]:
    """Controls that stick out of what surrounds them, where nothing can be scrolled."""
    around = one.parentWidget()
    controls = QPushButton | QCheckBox | QToolButton | QComboBox | QAbstractSpinBox
    if around is None or not isinstance(one, controls):
        return
    if one.isWindow() or isinstance(around.parentWidget(), QScrollArea):
        return
    if not QRect(0, 0, around.width(), around.height()).contains(one.geometry()):
        yield f"{type(one).__name__} {one.accessibleName()!r} sticks out of its surroundings"
