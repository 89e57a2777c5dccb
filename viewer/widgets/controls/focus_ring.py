"""A ring about whatever has the keyboard, the same for every kind of control."""

from PySide6.QtCore import QObject, QRectF
from PySide6.QtGui import QColor, QPainter, QPen, QRegion
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractScrollArea,
    QAbstractSlider,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QFocusFrame,
    QLineEdit,
    QProxyStyle,
    QStyle,
    QStyleHintReturn,
    QStyleHintReturnMask,
    QStyleOption,
    QTabBar,
    QWidget,
)
from shiboken6 import isValid

RINGED = (
    QAbstractButton,
    QAbstractScrollArea,
    QAbstractSlider,
    QAbstractSpinBox,
    QComboBox,
    QLineEdit,
    QTabBar,
)
"""What Fusion shows the focus of faintly or not at all."""
WIDTH, OUTSIDE = 2, 1
"""Of the ring, and how much of it lies beyond the control: the rest covers the control's frame."""


class FocusRing(QObject):
    """Lives as long as `window` and follows the focus in it and in what floats over it.

    Qt makes the frame a child of what surrounds the control; when that goes, so does the frame,
    and another is made.
    """

    def __init__(self, application: QApplication, window: QWidget) -> None:
        super().__init__(window)
        self._window = window
        self._style = RingStyle()
        self._style.setParent(self)
        self._frame = self._made()
        application.focusChanged.connect(self._follow)
        self._follow(None, application.focusWidget())

    def _made(self) -> QFocusFrame:
        frame = QFocusFrame(self._window)
        frame.setStyle(self._style)
        return frame

    @property
    def around(self) -> QWidget | None:
        """The control that wears the ring."""
        return self._frame.widget() if isValid(self._frame) else None

    def _follow(self, _: QWidget | None, now: QWidget | None) -> None:
        if now is None or self._window not in (now.window(), now.window().parentWidget()):
            return
        if not isValid(self._frame):
            self._frame = self._made()
        self._frame.setWidget(now if isinstance(now, RINGED) else None)  # type: ignore[arg-type]


class RingStyle(QProxyStyle):
    """Draws the focus frame as a ring that leaves what is inside it alone."""

    def __init__(self) -> None:
        super().__init__("Fusion")

    def pixelMetric(
        self,
        metric: QStyle.PixelMetric,
        option: QStyleOption | None = None,
        widget: QWidget | None = None,
    ) -> int:
        metrics = QStyle.PixelMetric
        if metric in (metrics.PM_FocusFrameHMargin, metrics.PM_FocusFrameVMargin):
            return OUTSIDE
        return super().pixelMetric(metric, option, widget)

    def styleHint(
        self,
        hint: QStyle.StyleHint,
        option: QStyleOption | None = None,
        widget: QWidget | None = None,
        returnData: QStyleHintReturn | None = None,  # noqa: N803 (Qt's name)
    ) -> int:
        if hint == QStyle.StyleHint.SH_FocusFrame_AboveWidget:
            return 1
        if hint == QStyle.StyleHint.SH_FocusFrame_Mask:
            if isinstance(returnData, QStyleHintReturnMask) and option is not None:
                whole = option.rect
                inner = whole.adjusted(WIDTH, WIDTH, -WIDTH, -WIDTH)
                returnData.region = QRegion(whole) - QRegion(inner)
            return 1
        return super().styleHint(hint, option, widget, returnData)

    def drawControl(
        self,
        element: QStyle.ControlElement,
        option: QStyleOption,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        if element != QStyle.ControlElement.CE_FocusFrame:
            super().drawControl(element, option, painter, widget)
            return
        rect, palette = option.rect, option.palette
        painter.setPen(QPen(QColor(palette.accent().color()), WIDTH))
        half = WIDTH / 2
        painter.drawRect(QRectF(rect).adjusted(half, half, -half, -half))
