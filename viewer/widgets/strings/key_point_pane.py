"""The key-point pane: measured, predicted and translated values of the current trace."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QSizePolicy,
    QTableView,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.nomenclature import KEY_POINTS, quantity
from viewer.state.session import Session
from viewer.state.strings.key_point_lines import key_point_lines
from viewer.state.strings.standing import standing
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.icons import pixmap
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.strings.key_point_model import KeyPointModel
from viewer.widgets.strings.trace_description import description

ICON = 14
NARROWEST = "Irradiance at end, recorded: 1000"
"""What a line of the words beside the table must have room for."""
VERDICT = (
    "Power ratio: Pmp measured / Pmp predicted, both at the conditions of the sweep.\n"
    "±: its expanded uncertainty (k = 2), from irradiance, temperature, tracer and datasheet."
)
EMPTY = (
    "Measured, predicted and translated key points of the chosen string, the conditions of its "
    "sweep and the checks they passed or failed."
)


class KeyPointPane(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        self.model = KeyPointModel(self)
        self.view = _SmallTable(self)
        self.title = QLabel(self)
        self.badge = QLabel(self)
        self.verdict = QLabel(self)
        self.details = QTextBrowser(self)
        self._lay_out()
        for notifier in (
            session.selection.changed,
            session.opened,
            session.arrived,
            session.settings.changed,
            look.theme.changed,
        ):
            follow(self, notifier, self.show_current)
        self.show_current()

    def _lay_out(self) -> None:
        self.view.setModel(self.model)
        self.view.setAccessibleName("Key points of the current string")
        self.details.setAccessibleName("Test conditions and checks of the current string")
        self.details.setFrameShape(QFrame.Shape.NoFrame)
        self.details.setOpenLinks(False)
        self.details.setMinimumWidth(self.fontMetrics().horizontalAdvance(NARROWEST))
        bold = self.title.font()
        bold.setBold(True)
        self.title.setFont(bold)
        self.verdict.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        top = QHBoxLayout()
        top.setSpacing(MEDIUM)
        top.addWidget(self.title)
        top.addWidget(self.badge)
        top.addWidget(self.verdict, 1)
        body = QHBoxLayout()
        body.setSpacing(MEDIUM)
        body.addWidget(self.view, 0, Qt.AlignmentFlag.AlignTop)
        body.addWidget(self.details, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.setSpacing(SMALL)
        column.addLayout(top)
        column.addLayout(body, 1)

    def show_current(self, *_: object) -> None:
        result = self._session.current
        if result is None:
            awaited = self._session.selection.current
            listed = awaited is not None and self._session.row(awaited) is not None
            self.title.setText("Its curve is still being read" if listed else "No string selected")
            self.badge.clear()
            self.verdict.clear()
            self.details.setPlainText(EMPTY)
            self.details.setProperty("shown", "")
            self.view.hide()
            self.model.show_lines(())
            return
        self.view.show()
        self.title.setText(self._session.label_of(result))
        self._show_verdict(result)
        self.model.show_lines(key_point_lines(result, self._session.layout))
        text = description(result, self._look.theme.value)
        if text != self.details.property("shown"):
            self.details.setProperty("shown", text)
            self.details.setHtml(text)

    def _show_verdict(self, result: TraceResult) -> None:
        how = standing(result, self._session.settings.value)
        colour = self._look.theme.value.level(how.level)
        density = self.devicePixelRatioF()
        picture = pixmap(f"level_{how.level}", colour, round(ICON * density))
        picture.setDevicePixelRatio(density)
        self.badge.setPixmap(picture)
        self.badge.setAccessibleName("Mark of its status")
        text = how.words
        if result.power_ratio is not None:
            text += f";  power ratio {quantity('power_ratio').text(result.power_ratio)}"
            if result.power_ratio_uncertainty is not None:
                extra = quantity("power_ratio_uncertainty").text(result.power_ratio_uncertainty)
                text += f" ± {extra} (k = 2)"
        self.verdict.setText(text)
        self.verdict.setToolTip(VERDICT)


class _SmallTable(QTableView):
    """A table as high and wide as its six lines need, never scrolled."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ContiguousSelection)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        metrics = self.fontMetrics()
        rows, columns = self.verticalHeader(), self.horizontalHeader()
        rows.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        rows.setDefaultSectionSize(metrics.height() + SMALL)
        columns.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        columns.setDefaultSectionSize(metrics.horizontalAdvance("Difference") + 2 * MEDIUM)
        columns.setDefaultAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)

    def sizeHint(self) -> QSize:
        columns, rows = self.horizontalHeader(), self.verticalHeader()
        count = self.model().columnCount() if self.model() else 0
        words = max(self.fontMetrics().horizontalAdvance(one.heading) for one in KEY_POINTS)
        wide = words + 3 * MEDIUM + count * columns.defaultSectionSize()
        high = columns.sizeHint().height() + len(KEY_POINTS) * rows.defaultSectionSize()
        return QSize(wide, high + SMALL)

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()
