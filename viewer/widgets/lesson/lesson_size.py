"""How large a lesson's letters and lines are: for one reader, or for a projector."""

from PySide6.QtGui import QFont
from PySide6.QtWidgets import QApplication

from viewer.state.program.notifier import Value

BIG = 1.7
"""Letters of a presentation, over those of the desk."""


class LessonSize:
    """Widgets follow `big.changed` and take their font and line widths from here."""

    def __init__(self, big: Value[bool]) -> None:
        self.big = big

    @property
    def scale(self) -> float:
        return BIG if self.big.value else 1.0

    def font(self, factor: float = 1.0) -> QFont:
        """The application's font at the lesson's size."""
        font = QApplication.font()
        font.setPointSizeF(font.pointSizeF() * self.scale * factor)
        return font


def heading_font() -> QFont:
    """Bold, and in all else like the letters of what surrounds it."""
    font = QFont()
    font.setBold(True)
    return font
