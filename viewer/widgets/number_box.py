"""A box for one number with its unit."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDoubleSpinBox


def number_box(
    title: str, unit: str, low: float, high: float, value: float, decimals: int = 1
) -> QDoubleSpinBox:
    """`title` is what a screen reader says; the unit is printed behind the number."""
    box = QDoubleSpinBox()
    box.setRange(low, high)
    box.setDecimals(decimals)
    box.setValue(value)
    box.setSuffix(f" {unit}")
    box.setAccessibleName(title)
    box.setKeyboardTracking(True)
    box.setAlignment(Qt.AlignmentFlag.AlignRight)
    return box
