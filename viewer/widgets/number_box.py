"""A box for one number with its unit."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QValidator
from PySide6.QtWidgets import QDoubleSpinBox, QWidget


class NumberBox(QDoubleSpinBox):
    """Takes a point and a comma alike as the decimal mark, and no mark of thousands at all.

    Qt would read 2.5 as 25 where the locale writes a comma.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setGroupSeparatorShown(False)

    def _one_mark(self, text: str) -> str:
        own = self.locale().decimalPoint()
        return text.replace("," if own == "." else ".", own)

    def validate(self, text: str, position: int) -> tuple[QValidator.State, str, int]:
        state, checked, place = super().validate(self._one_mark(text), position)
        return state, checked, place

    def valueFromText(self, text: str) -> float:
        return super().valueFromText(self._one_mark(text))


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
