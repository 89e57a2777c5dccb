"""The heat-grid: one combiner's strings against their prediction or against each other."""

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QColor, QLinearGradient, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.nomenclature import KEY_POINTS
from viewer.state.session import Session
from viewer.state.strings.deviation_grid import REFERENCES, deviation_grid
from viewer.state.visit_comparison import compared_visits, results_by_string
from viewer.widgets.controls.binding import ChoiceTie, RowTie, fill_choices, follow
from viewer.widgets.controls.combiner_chooser import CombinerChooser
from viewer.widgets.controls.empty_words import EmptyWords
from viewer.widgets.controls.theme import LIGHT, MEDIUM, SMALL, Look, Theme
from viewer.widgets.controls.visit_chooser import VisitChooser
from viewer.widgets.strings.heat_grid_cells import PRINTED, HeatGridCells
from viewer.widgets.strings.heat_grid_model import HeatGridModel

EMPTY = (
    "The strings of one combiner side by side: how far each key point lies from its prediction, "
    "or from the combiner's median."
)


class ColourKey(QWidget):
    """The diverging map with its ends in words."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme: Theme = LIGHT
        self._full = 10.0
        self.setMinimumWidth(150)
        self.setFixedHeight(self.fontMetrics().height() + SMALL)
        self.setAccessibleName("Colour key of the heat-grid")

    def show_key(self, theme: Theme, full: float) -> None:
        self._theme, self._full = theme, full
        self.setToolTip(f"Colours are strongest at {full:g} % and beyond; triangles show the side")
        self.update()

    def paintEvent(self, _: QPaintEvent) -> None:
        painter = QPainter(self)
        box = QRect(0, 0, self.width() - 1, self.height() - 1)
        ramp = QLinearGradient(0, 0, box.width(), 0)
        theme = self._theme
        for place, colour in ((0.0, theme.below), (0.5, theme.level_with), (1.0, theme.above)):
            ramp.setColorAt(place, QColor(colour))
        painter.fillRect(box, ramp)
        painter.setPen(QColor(theme.line))
        painter.drawRect(box)
        painter.setPen(QColor(theme.text))
        words = box.adjusted(SMALL, 0, -SMALL, 0)
        middle = Qt.AlignmentFlag.AlignVCenter
        painter.drawText(words, int(middle | Qt.AlignmentFlag.AlignLeft), f"▼ −{self._full:g} %")
        painter.drawText(words, int(middle | Qt.AlignmentFlag.AlignHCenter), "0")
        painter.drawText(words, int(middle | Qt.AlignmentFlag.AlignRight), f"+{self._full:g} % ▲")
        painter.end()


class HeatGrid(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        self.model = HeatGridModel(self)
        self.view = QTableView(self)
        self.cells = HeatGridCells(self)
        self.combiner = CombinerChooser(session, "Combiner of the heat-grid", self)
        self.key = ColourKey(self)
        self.basis = QLabel(self)
        self.suspects_first = QCheckBox("suspects first", self)
        self._set_up_view()
        self._lay_out()
        self._empty = EmptyWords(self.view, lambda: EMPTY)
        self._tie = RowTie(self.view, session.selection)
        choices = session.choices
        for notifier, method in (
            (session.opened, self.recompute),
            (session.arrived, self.recompute),
            (choices.visit.changed, self.recompute),
            (choices.combiner.changed, self.recompute),
            (choices.grid_reference.changed, self.recompute),
            (session.years.changed, self.recompute),
            (session.years.baseline.changed, self.recompute),
            (choices.grid_printed.changed, self._dress),
            (session.settings.changed, self._dress),
            (look.theme.changed, self._dress),
        ):
            follow(self, notifier, method)
        self._dress()
        self.recompute()

    def _set_up_view(self) -> None:
        view = self.view
        view.setModel(self.model)
        view.setItemDelegate(self.cells)
        view.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        view.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        view.setAccessibleName("Heat-grid of the combiner's strings")
        view.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        view.horizontalHeader().setHighlightSections(False)
        least = self.fontMetrics().horizontalAdvance("▼−10.0") + MEDIUM
        view.horizontalHeader().setMinimumSectionSize(least)
        rows = view.verticalHeader()
        rows.setDefaultSectionSize(self.fontMetrics().height() + MEDIUM)
        rows.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        view.setCornerButtonEnabled(False)
        view.setShowGrid(False)

    def _lay_out(self) -> None:
        reference = QComboBox(self)
        reference.setAccessibleName("What the heat-grid compares with")
        fill_choices(
            reference,
            [(f"against {text.removeprefix('the ')}", key) for key, text in REFERENCES.items()],
            None,
        )
        # the other two boxes are whole first: of this one the list has the whole words
        reference.setMaximumWidth(reference.sizeHint().width())
        reference.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self._reference_tie = ChoiceTie(reference, self._session.choices.grid_reference)
        top = QHBoxLayout()
        top.setSpacing(SMALL)
        top.addWidget(VisitChooser(self._session, self))
        top.addWidget(self.combiner)
        top.addWidget(reference, 1)
        top.addStretch(0)
        printed = QComboBox(self)
        printed.setAccessibleName("What the cells of the heat-grid print")
        printed.setToolTip("What the cells print")
        fill_choices(printed, [(text, key) for key, text in PRINTED.items()], None)
        self._printed_tie = ChoiceTie(printed, self._session.choices.grid_printed)
        bottom = QHBoxLayout()
        bottom.setSpacing(SMALL)
        self.suspects_first.setToolTip(
            "Order by the likelihood of a fault times the power missing; else by name"
        )
        self.suspects_first.toggled.connect(self.recompute)
        bottom.addWidget(self.key)
        self.basis.setWordWrap(True)
        bottom.addStretch(1)
        bottom.addWidget(self.suspects_first)
        bottom.addWidget(printed)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.setSpacing(SMALL)
        column.addLayout(top)
        column.addWidget(self.view, 1)
        column.addWidget(self.basis)
        column.addLayout(bottom)

    def recompute(self, *_: object) -> None:
        session = self._session
        chosen = self.combiner.refill()
        if chosen is None:
            self.model.show_grid(None)
            self.basis.setText("")
            return
        reference = session.choices.grid_reference.value
        then, visit = self._earlier(chosen) if reference == "visit" else (None, "")
        results = session.results_of(chosen)
        suspects_first = self.suspects_first.isChecked()
        grid = deviation_grid(
            results, chosen, session.layout, reference, then, visit, suspects_first
        )
        self.model.show_grid(grid)
        self._size_columns()
        self.basis.setText(grid.basis)
        self.basis.setToolTip(grid.basis)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._size_columns()

    def _size_columns(self) -> None:
        """All share the width; where that is too little for the heading of a kind of signature,
        it takes what it needs."""
        header, mode = self.view.horizontalHeader(), QHeaderView.ResizeMode
        count = self.model.columnCount()
        share = self.view.viewport().width() // max(count, 1)
        for column in range(count):
            words = str(self.model.headerData(column, Qt.Orientation.Horizontal))
            need = header.fontMetrics().horizontalAdvance(words) + SMALL
            own = column >= len(KEY_POINTS) and need > share
            header.setSectionResizeMode(column, mode.Fixed if own else mode.Stretch)
            if own:
                header.resizeSection(column, max(header.minimumSectionSize(), need))

    def _earlier(self, combiner: str) -> tuple[dict[str, TraceResult], str]:
        """The traces of the visit that the shown one is compared with, and its name."""
        then = compared_visits(self._session).then
        return results_by_string(self._session, combiner, then), then or ""

    def _dress(self, *_: object) -> None:
        theme, full = self._look.theme.value, self._session.settings.value.grid_range
        self.cells.theme, self.cells.full = theme, full
        self.cells.printed = self._session.choices.grid_printed.value
        self.model.show_printed(self.cells.printed)
        height = self.cells.row_height(self.fontMetrics())
        self.view.verticalHeader().setDefaultSectionSize(height)
        self.key.show_key(theme, full)
        self.view.viewport().update()
