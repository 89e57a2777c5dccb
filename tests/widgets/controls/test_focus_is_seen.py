"""Where the keyboard is shows on every kind of control, in both themes.

Success criterion 2.4.13 of the Web Content Accessibility Guidelines 2.2 (W3C, 2023) asks 3:1
between the same pixels with and without the focus.
"""

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDateEdit,
    QGridLayout,
    QLineEdit,
    QMainWindow,
    QPlainTextEdit,
    QPushButton,
    QRadioButton,
    QSlider,
    QSpinBox,
    QTabBar,
    QTableWidget,
    QTextBrowser,
    QToolButton,
    QWidget,
)

from viewer.widgets.controls.focus_ring import FocusRing
from viewer.widgets.controls.house_style import dress
from viewer.widgets.controls.theme import DARK, LIGHT

ASKED = 3.0
FEWEST = 30
"""Pixels that change enough: two dozen would be a dot."""


def tab_bar() -> QTabBar:
    bar = QTabBar()
    bar.addTab("First page")
    bar.addTab("Second page")
    return bar


KINDS = {
    "button": lambda: QPushButton("Press"),
    "tool button": lambda: QToolButton(text="Press"),
    "box to tick": lambda: QCheckBox("Tick"),
    "radio button": lambda: QRadioButton("One of some"),
    "choice": lambda: QComboBox(),
    "line": lambda: QLineEdit("words"),
    "number": lambda: QSpinBox(),
    "day": lambda: QDateEdit(),
    "slider": lambda: QSlider(Qt.Orientation.Horizontal),
    "table": lambda: QTableWidget(2, 2),
    "text": lambda: QTextBrowser(),
    "entry of lines": lambda: QPlainTextEdit(),
    "tabs": tab_bar,
}


def luminance(image: QImage) -> np.ndarray:
    made = image.convertToFormat(QImage.Format.Format_RGB32)
    raw = np.frombuffer(made.constBits(), np.uint8).reshape(made.height(), made.width(), 4)
    part = raw[..., 2::-1] / 255.0
    linear = np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
    return linear @ np.array([0.2126, 0.7152, 0.0722])


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("kind", KINDS)
def test_the_focus_is_seen(qapp, shown, kind, theme):
    dress(qapp, theme)
    window = QMainWindow()
    inside = QWidget()
    grid = QGridLayout(inside)
    elsewhere, control = QPushButton("Elsewhere"), KINDS[kind]()
    grid.addWidget(elsewhere, 0, 0)
    grid.addWidget(control, 1, 0)
    window.setCentralWidget(inside)
    FocusRing(qapp, window)
    shown(window, 400, 300)
    window.activateWindow()
    pictures = []
    for one in (elsewhere, control):
        one.setFocus(Qt.FocusReason.TabFocusReason)
        qapp.processEvents()
        part = control.geometry().adjusted(-4, -4, 4, 4)
        pictures.append(luminance(window.grab(part).toImage()))
    without, focused = pictures
    high, low = np.maximum(without, focused), np.minimum(without, focused)
    changed = (high + 0.05) / (low + 0.05) >= ASKED
    dress(qapp, LIGHT)
    assert changed.sum() >= FEWEST
