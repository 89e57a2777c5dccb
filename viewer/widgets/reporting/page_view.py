"""Pages one under the other, as they will be printed; only what is near the view is drawn."""

from collections.abc import Callable
from itertools import accumulate

from PySide6.QtCore import QPoint, QRect, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QImage,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QScrollBar, QWidget

from viewer.reports.pdf_pictures import POINTS_AN_INCH, PagePicture
from viewer.state.reporting.report_pages import ReportPages
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look

PAPER = "#FFFFFF"
NEAR = 1
"""Pages before and after those in sight that are drawn ahead and kept."""
LEAST, MOST = 0.25, 4.0
"""Zoom: 1 shows a page as large as it is printed, as far as the screen's resolution is known."""
STEP = 1.25


class PageView(QAbstractScrollArea):
    """`zoom` None fits the page's width into the view."""

    page_changed = Signal(int)
    """Another page lies under the middle of the view; from 0."""
    zoom_changed = Signal()

    def __init__(
        self, pages: ReportPages, look: Look, hint: str, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._pages = pages
        self._look = look
        self._hint = hint
        self._zoom: float | None = None
        self._rectangles: list[QRect] = []
        self._images: dict[int, tuple[PagePicture, QImage]] = {}
        self._page = 0
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        for bar in (self.verticalScrollBar(), self.horizontalScrollBar()):
            bar.valueChanged.connect(self._moved)
        follow(self, pages.document.changed, self._document_changed)
        follow(self, pages.drawn, self._drawn)
        follow(self, look.theme.changed, self._repaint)

    @property
    def page(self) -> int:
        return self._page

    @property
    def zoom(self) -> float | None:
        return self._zoom

    def set_zoom(self, zoom: float | None) -> None:
        """Another size; the middle of the view stays where it is on its page."""
        wanted = None if zoom is None else min(max(zoom, LEAST), MOST)
        if wanted == self._zoom:
            return
        self._zoom = wanted
        self._keep_place(self._lay_out)
        self.zoom_changed.emit()

    def zoom_by(self, factor: float) -> None:
        shown = self._pixels_a_point() * POINTS_AN_INCH / self.logicalDpiX()
        self.set_zoom(shown * factor)

    def show_page(self, place: int) -> None:
        """Bring a page's upper edge to the top."""
        if 0 <= place < len(self._rectangles):
            self.verticalScrollBar().setValue(self._rectangles[place].top() - MEDIUM)

    def _sizes(self) -> tuple[tuple[float, float], ...]:
        document = self._pages.document.value
        return () if document is None else document.sizes

    def _pixels_a_point(self) -> float:
        """Device-independent pixels that a point of the page takes."""
        if self._zoom is not None:
            return self._zoom * self.logicalDpiX() / POINTS_AN_INCH
        widest = max((wide for wide, _ in self._sizes()), default=1.0)
        return max(self.viewport().width() - 2 * MEDIUM, 50) / widest

    def _document_changed(self, *_: object) -> None:
        self._images = {}
        self._lay_out()
        self.verticalScrollBar().setValue(0)
        self._moved()

    def _lay_out(self) -> None:
        """Where each page lies, from the upper left corner of all of them."""
        scale = self._pixels_a_point()
        sizes = [(round(wide * scale), round(high * scale)) for wide, high in self._sizes()]
        widest = max((wide for wide, _ in sizes), default=0) + 2 * MEDIUM
        room = max(widest, self.viewport().width())
        tops = accumulate((high + MEDIUM for _, high in sizes), initial=MEDIUM)
        self._rectangles = [
            QRect((room - wide) // 2, top, wide, high)
            for (wide, high), top in zip(sizes, tops, strict=False)
        ]
        bottom = self._rectangles[-1].bottom() + MEDIUM if self._rectangles else 0
        self._set_range(self.verticalScrollBar(), bottom, self.viewport().height())
        self._set_range(self.horizontalScrollBar(), widest, self.viewport().width())
        self._moved()

    def _set_range(self, bar: QScrollBar, whole: int, seen: int) -> None:
        bar.setPageStep(seen)
        bar.setSingleStep(3 * self.fontMetrics().height())
        bar.setRange(0, max(0, whole - seen))

    def _keep_place(self, change: Callable[[], None]) -> None:
        """Make a change of size and put the same spot of the same page back into the middle."""
        bar, middle = self.verticalScrollBar(), self.viewport().height() // 2
        before = self._rectangles[self._page] if self._rectangles else None
        share = (bar.value() + middle - before.top()) / before.height() if before else 0.0
        page = self._page
        change()
        if before is not None:
            now = self._rectangles[page]
            bar.setValue(round(now.top() + share * now.height()) - middle)

    def _seen(self) -> QRect:
        """What part of all of it is in sight."""
        at = QPoint(self.horizontalScrollBar().value(), self.verticalScrollBar().value())
        return QRect(at, self.viewport().size())

    def _moved(self, *_: object) -> None:
        """Ask for what is in sight first, then for what may be so next."""
        seen = self._seen()
        inside = [k for k, one in enumerate(self._rectangles) if one.intersects(seen)]
        if inside and self.isVisible():
            before = range(inside[0] - 1, inside[0] - NEAR - 1, -1)
            after = range(inside[-1] + 1, inside[-1] + NEAR + 1)
            count = len(self._rectangles)
            wanted = [k for k in (*inside, *after, *before) if 0 <= k < count]
            self._images = {k: held for k, held in self._images.items() if k in wanted}
            self._pages.want(wanted, self._pixels_a_point() * self.devicePixelRatioF())
        self._note_page(seen.center().y())
        self._repaint()

    def _note_page(self, middle: int) -> None:
        above = [k for k, one in enumerate(self._rectangles) if one.top() <= middle]
        page = above[-1] if above else 0
        if self.verticalScrollBar().value() == 0:
            page = 0
        if page != self._page:
            self._page = page
            self.page_changed.emit(page)

    def _drawn(self) -> None:
        self._repaint()

    def _repaint(self, *_: object) -> None:
        self.viewport().update()

    def _image(self, place: int) -> QImage | None:
        picture = self._pages.picture(place)
        if picture is None:
            return None
        held = self._images.get(place)
        if held is None or held[0] is not picture:
            made = QImage(
                picture.pixels,
                picture.width,
                picture.height,
                picture.stride,
                QImage.Format.Format_RGB32,
            )
            self._images[place] = held = picture, made
        return held[1]

    def paintEvent(self, event: QPaintEvent) -> None:
        theme = self._look.theme.value
        painter = QPainter(self.viewport())
        painter.fillRect(event.rect(), QColor(theme.raised))
        if not self._rectangles:
            painter.setPen(QColor(theme.subtle))
            room = self.viewport().rect().adjusted(MEDIUM, MEDIUM, -MEDIUM, -MEDIUM)
            flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            painter.drawText(room, int(flags), self._hint)
            return
        seen = self._seen()
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        for place, one in enumerate(self._rectangles):
            if one.intersects(seen):
                self._paint_page(painter, place, one.translated(-seen.topLeft()))

    def _paint_page(self, painter: QPainter, place: int, where: QRect) -> None:
        image = self._image(place)
        if image is None:
            painter.fillRect(where, QColor(PAPER))
        else:
            painter.drawImage(where, image)
        painter.setPen(QColor(self._look.theme.value.frame))
        painter.drawRect(where.adjusted(-1, -1, 0, 0))

    def resizeEvent(self, _: QResizeEvent) -> None:
        self._keep_place(self._lay_out)

    def showEvent(self, _: object) -> None:
        self._lay_out()

    def wheelEvent(self, event: QWheelEvent) -> None:
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            turns = event.angleDelta().y() / 120
            if turns:
                self.zoom_by(STEP**turns)
            event.accept()
        else:
            super().wheelEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        keys, bar = Qt.Key, self.verticalScrollBar()
        if event.key() == keys.Key_Home:
            bar.setValue(0)
        elif event.key() == keys.Key_End:
            bar.setValue(bar.maximum())
        elif event.key() in (keys.Key_Plus, keys.Key_Equal):
            self.zoom_by(STEP)
        elif event.key() == keys.Key_Minus:
            self.zoom_by(1 / STEP)
        elif event.key() == keys.Key_Space:
            bar.setValue(bar.value() + self.viewport().height() - 2 * SMALL)
        else:
            super().keyPressEvent(event)
