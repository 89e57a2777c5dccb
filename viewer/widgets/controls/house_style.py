"""What a palette cannot say: how docks, headers, separators and pressed tool buttons are drawn.

A style sheet would say it too, but Qt then works out the rules of every widget one by one: with
all panes made, a change from light to dark took half a second, of which a palette needs a
hundredth. The application's style here is Qt's Fusion but for one thing: of each widget polished
it looks whether the house draws it, so that no Python is called for any other.
"""

from collections.abc import Callable

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QIcon, QPainter, QPalette, QPen
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QDockWidget,
    QHeaderView,
    QMainWindow,
    QProxyStyle,
    QStyle,
    QStyleOption,
    QTabBar,
    QToolButton,
    QToolTip,
    QWidget,
)

from viewer.widgets.controls.icons import icon
from viewer.widgets.controls.theme import (
    LIGHT,
    Theme,
    field_palette,
    grid_palette,
    palette,
    rows_palette,
)

DRAWN_HERE = (QDockWidget, QHeaderView, QMainWindow, QToolButton)
SEPARATOR = 3
"""Between docks, in pixels."""
HEADER_PADDING = 3
"""Beside a heading, over what Fusion leaves anyway."""
CORNER = 3.0
DOCK_BUTTONS: dict[QStyle.StandardPixmap, tuple[str, str]] = {
    QStyle.StandardPixmap.SP_TitleBarCloseButton: ("qt_dockwidget_closebutton", "cancel"),
    QStyle.StandardPixmap.SP_TitleBarNormalButton: ("qt_dockwidget_floatbutton", "float"),
}
"""In a dock's title: what Qt asks for, what it calls the button, and the icon; Qt's own are dark
grey whatever they lie on."""
KINDS: dict[str, Callable[[Theme], QPalette]] = {
    "QAbstractItemView": rows_palette,
    "QTableView": grid_palette,
    "QLineEdit": field_palette,
    "QAbstractSpinBox": field_palette,
    "QComboBox": field_palette,
    "QCheckBox": field_palette,
    "QRadioButton": field_palette,
    "QPlainTextEdit": field_palette,
}
"""Palettes of kinds of widgets, in place of the application's."""


class DrawnHere(QProxyStyle):
    """The style of the widgets the house draws itself, in the colours of `theme`.

    It does not say how wide a dock's title is: Qt asks for that two thousand times when a desk
    is laid out, each time from its own code, which has to wait for its turn beside a job.
    """

    def __init__(self) -> None:
        super().__init__("Fusion")
        self.theme: Theme = LIGHT

    def subElementRect(
        self, element: QStyle.SubElement, option: QStyleOption, widget: QWidget | None = None
    ) -> QRect:
        found = super().subElementRect(element, option, widget)  # type: ignore[arg-type]
        if element == QStyle.SubElement.SE_HeaderLabel:
            return found.adjusted(HEADER_PADDING, 0, -HEADER_PADDING, 0)
        return found

    def sizeFromContents(
        self,
        kind: QStyle.ContentsType,
        option: QStyleOption,
        size: QSize,
        widget: QWidget | None = None,
    ) -> QSize:
        found = super().sizeFromContents(kind, option, size, widget)  # type: ignore[arg-type]
        if kind == QStyle.ContentsType.CT_HeaderSection:
            found.setWidth(found.width() + 2 * HEADER_PADDING)
        return found

    def standardIcon(
        self,
        wanted: QStyle.StandardPixmap,
        option: QStyleOption | None = None,
        widget: QWidget | None = None,
    ) -> QIcon:
        if wanted in DOCK_BUTTONS:
            return icon(DOCK_BUTTONS[wanted][1], self.theme.text)
        return super().standardIcon(wanted, option, widget)

    def drawControl(
        self,
        element: QStyle.ControlElement,
        option: QStyleOption,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        elements = QStyle.ControlElement
        if element in (elements.CE_HeaderSection, elements.CE_HeaderEmptyArea):
            self._header(option.rect, painter)
            return
        if element == elements.CE_DockWidgetTitle:
            painter.fillRect(option.rect, QColor(self.theme.raised))
        super().drawControl(element, option, painter, widget)

    def drawPrimitive(
        self,
        element: QStyle.PrimitiveElement,
        option: QStyleOption,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        elements = QStyle.PrimitiveElement
        rect, state = option.rect, option.state
        if element == elements.PE_IndicatorDockWidgetResizeHandle:
            painter.fillRect(rect, QColor(self.theme.line))
        elif element == elements.PE_PanelButtonTool and state & QStyle.StateFlag.State_On:
            self._pressed(rect, painter)
        else:
            super().drawPrimitive(element, option, painter, widget)

    def _header(self, rect: QRect, painter: QPainter) -> None:
        """Flat, with a line under it and one to the next."""
        painter.fillRect(rect, QColor(self.theme.raised))
        painter.setPen(QColor(self.theme.line))
        painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        painter.drawLine(rect.topRight(), rect.bottomRight())

    def _pressed(self, rect: QRect, painter: QPainter) -> None:
        """What is switched on: filled and framed, so that colour is not all that tells."""
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(QColor(self.theme.accent), 1.0))
        painter.setBrush(QColor(self.theme.selected))
        painter.drawRoundedRect(QRectF(rect).adjusted(0.5, 0.5, -0.5, -0.5), CORNER, CORNER)
        painter.restore()


class DrawnWindow(DrawnHere):
    """The same for the window that holds the docks: it asks how far they are apart."""

    def pixelMetric(
        self,
        metric: QStyle.PixelMetric,
        option: QStyleOption | None = None,
        widget: QWidget | None = None,
    ) -> int:
        if metric == QStyle.PixelMetric.PM_DockWidgetSeparatorExtent:
            return SEPARATOR
        return super().pixelMetric(metric, option, widget)


class HouseStyle(QProxyStyle):
    """Fusion for the whole application; the house's styles for the kinds of widgets it names."""

    def __init__(self) -> None:
        super().__init__("Fusion")
        self._drawn_here = DrawnHere()
        self._drawn_window = DrawnWindow()
        for one in (self._drawn_here, self._drawn_window):
            one.setParent(self)

    @property
    def theme(self) -> Theme:
        return self._drawn_here.theme

    @theme.setter
    def theme(self, theme: Theme) -> None:
        self._drawn_here.theme = self._drawn_window.theme = theme

    def polish(self, what: object) -> object:  # type: ignore[override]
        """Called by Qt once for each widget, and for the application and its palette."""
        if isinstance(what, DRAWN_HERE):
            window = isinstance(what, QMainWindow)
            wanted = self._drawn_window if window else self._drawn_here
            if what.style() is not wanted:
                what.setStyle(wanted)
                return None
        if isinstance(what, QTabBar):
            what.setElideMode(Qt.TextElideMode.ElideNone)  # whole titles, and arrows to the rest
        return super().polish(what)  # type: ignore[call-overload]


def dress(application: QApplication, theme: Theme) -> None:
    """Give the whole application the theme."""
    style = application.style()
    if not isinstance(style, HouseStyle):
        style = HouseStyle()
        application.setStyle(style)
    elif style.theme is theme:
        return
    style.theme = theme
    application.setPalette(palette(theme))
    for kind, made in KINDS.items():
        application.setPalette(made(theme), kind)  # type: ignore[arg-type]  # bytes are refused
    QToolTip.setPalette(palette(theme))
    for window in application.topLevelWidgets():
        for name, drawn in DOCK_BUTTONS.values():
            for button in window.findChildren(QAbstractButton, name):
                button.setIcon(icon(drawn, theme.text))
