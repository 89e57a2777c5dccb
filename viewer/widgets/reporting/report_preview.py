"""The pages of the report with their number, their size, and a word when they are out of date."""

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QSpinBox, QVBoxLayout, QWidget

from viewer.state.reporting.report_form import ReportForm
from viewer.widgets.controls.binding import fill_choices, follow
from viewer.widgets.controls.theme import SMALL, Look
from viewer.widgets.reporting.page_view import PageView

NOTHING = "Press Preview to see the pages here as they will be printed."
OUTDATED = "Something was changed since: press Preview again."
ZOOMS: tuple[float, ...] = (0.5, 0.75, 1.0, 1.5, 2.0, 3.0)


class ReportPreview(QWidget):
    def __init__(self, form: ReportForm, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._form = form
        self.view = PageView(form.pages, look, NOTHING, self)
        self.page = QSpinBox(self)
        self.zoom = QComboBox(self)
        self.outdated = QLabel(OUTDATED, self)
        self._lay_out()
        self.page.valueChanged.connect(lambda number: self.view.show_page(number - 1))
        self.zoom.activated.connect(lambda _: self.view.set_zoom(self.zoom.currentData()))
        self.view.page_changed.connect(self._show_page)
        self.view.zoom_changed.connect(self._show_zoom)
        follow(self, form.pages.document.changed, self._document_changed)
        follow(self, form.outdated.changed, self._tell_outdated)
        self._document_changed()
        self._show_zoom()
        self._tell_outdated()

    def _lay_out(self) -> None:
        self.view.setAccessibleName("Preview of the report")
        self.page.setAccessibleName("Page shown")
        self.page.setPrefix("Page ")
        self.page.setKeyboardTracking(False)
        self.zoom.setAccessibleName("Size of the pages")
        self.outdated.setWordWrap(True)
        row = QHBoxLayout()
        row.setSpacing(SMALL)
        row.addWidget(self.page)
        row.addWidget(self.zoom)
        row.addWidget(self.outdated, 1)
        row.addStretch(0)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SMALL)
        column.addLayout(row)
        column.addWidget(self.view, 1)

    def _document_changed(self, *_: object) -> None:
        document = self._form.pages.document.value
        count = len(document.sizes) if document else 0
        with QSignalBlocker(self.page):
            self.page.setRange(min(count, 1), count)
            self.page.setSuffix(f" of {count}")
        for one in (self.page, self.zoom):
            one.setEnabled(count > 0)
        self._show_page(self.view.page)

    def _show_page(self, place: int) -> None:
        """The number, and the page's words for those who have the screen read to them."""
        with QSignalBlocker(self.page):
            self.page.setValue(place + 1)
        document = self._form.pages.document.value
        words = document.words(place) if document and place < len(document.sizes) else ""
        self.view.setAccessibleDescription(words)

    def _show_zoom(self) -> None:
        chosen = self.view.zoom
        sizes = sorted({*ZOOMS, *([chosen] if chosen is not None else [])})
        choices: list[tuple[str, object]] = [("Fit width", None)]
        choices += [(f"{100 * one:.0f} %", one) for one in sizes]
        fill_choices(self.zoom, choices, chosen)

    def _tell_outdated(self, *_: object) -> None:
        self.outdated.setVisible(self._form.outdated.value)
