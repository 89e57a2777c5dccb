"""Boxes for one number: with its unit, or a whole one."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QValidator
from PySide6.QtWidgets import QDoubleSpinBox, QSpinBox, QWidget

HYPHEN, MINUS = "-", "−"


class NumberBox(QDoubleSpinBox):
    """Takes a point and a comma alike as the decimal mark, and no mark of thousands at all; shows
    a minus sign, and takes a hyphen for one.

    Qt would read 2.5 as 25 where the locale writes a comma.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setGroupSeparatorShown(False)

    def _as_qt_reads(self, text: str) -> str:
        own = self.locale().decimalPoint()
        signed = text.replace(MINUS, HYPHEN).replace(HYPHEN, self.locale().negativeSign())
        return signed.replace("," if own == "." else ".", own)

    def _as_shown(self, text: str) -> str:
        return text.replace(self.locale().negativeSign(), MINUS)

    def validate(self, text: str, position: int) -> tuple[QValidator.State, str, int]:
        state, checked, place = super().validate(self._as_qt_reads(text), position)
        return state, self._as_shown(checked), place

    def valueFromText(self, text: str) -> float:
        return super().valueFromText(self._as_qt_reads(text))

    def textFromValue(self, value: float) -> str:
        rounded = round(value, self.decimals())
        return self._as_shown(super().textFromValue(rounded or 0.0))


def number_box(
    title: str, unit: str, low: float, high: float, value: float, decimals: int = 1
) -> NumberBox:
    """`title` is what a screen reader says; the unit is printed behind the number."""
    box = NumberBox()
    box.setRange(low, high)
    box.setDecimals(decimals)
    box.setValue(value)
    box.setSuffix(f" {unit}")
    box.setAccessibleName(title)
    box.setKeyboardTracking(True)
    box.setAlignment(Qt.AlignmentFlag.AlignRight)
    return box


def whole_box(title: str, low: int, high: int, value: int) -> QSpinBox:
    """The same for a whole number without a unit."""
    box = QSpinBox()
    box.setRange(low, high)
    box.setValue(value)
    box.setAccessibleName(title)
    return box
