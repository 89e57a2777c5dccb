"""Over the years: rates with their intervals, ratios by visit, the current string's history."""

from html import escape

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QFrame,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QSplitter,
    QTableView,
    QTabWidget,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from viewer.analysis.years.observation import QUANTITIES
from viewer.analysis.years.rate import PUBLISHED_MEDIAN
from viewer.analysis.years.sample_plan import Place
from viewer.physics.nomenclature import KEY_POINT_NAMES, quantity, with_minus
from viewer.state.session import Session
from viewer.state.years.over_years import Years
from viewer.state.years.rate_rows import (
    STRINGS_SHOWN,
    history,
    rate_rows,
    site_sentences,
    string_sentences,
)
from viewer.widgets.controls.binding import RowTie, fill_choices, follow
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.controls.when_seen import WhenSeen
from viewer.widgets.strings.trace_description import heading
from viewer.widgets.years.rate_chart import (
    CHART,
    COUNT,
    NAME,
    RATE,
    RateCells,
    RateModel,
    column_widths,
)
from viewer.widgets.years.year_plots import HistoryPlot, RatioBoxes
from viewer.widgets.years.years_widget import YearsWidget

WAITING = "Rates are computed when all traces have arrived."
WIDE = 1250
"""Width from which everything stands side by side."""
ROOMY = 950
"""Width from which there is room for the column that says what a rate comes from."""
KEY = with_minus(
    f"┆ published median {PUBLISHED_MEDIAN:+.1f} %/year (Jordan and Kurtz 2013)   "
    "◆\N{NO-BREAK SPACE}group  ●\N{NO-BREAK SPACE}string  filled: interval excludes zero"
)


class YearsPane(YearsWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(session, parent)
        self._look = look
        self._said = ""
        self._current_later = WhenSeen(self, self.show_current)
        self.model = RateModel(session, self)
        self.cells = RateCells(self.model, self)
        self.view = QTableView(self)
        self.quantity = QComboBox(self)
        self.which = QComboBox(self)
        self.key = QLabel(KEY, self)
        self.boxes = RatioBoxes(self)
        self.point = QComboBox(self)
        self.history = HistoryPlot(self)
        self.said = QTextBrowser(self)
        self.tabs = QTabWidget(self)
        self._set_up_view()
        self._lay_out()
        self._tie = RowTie(self.view, session.selection)
        self.quantity.activated.connect(self.later.ask)
        self.which.activated.connect(self.later.ask)
        self.point.activated.connect(self.show_current)
        self.boxes.picked.connect(lambda trace: session.selection.choose([trace]))
        for notifier, method in (
            (session.opened, self.later.ask),
            (session.loaded, self.want),
            (session.years.changed, self.found_changed),
            (session.selection.changed, self._current_later.ask),
            (session.choices.visit.changed, self.later.ask),
            (look.theme.changed, self._dress),
        ):
            follow(self, notifier, method)
        self._dress()
        self.later.ask()

    def _set_up_view(self) -> None:
        view = self.view
        view.setModel(self.model)
        view.setItemDelegate(self.cells)
        view.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        view.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        view.setAccessibleName("Rates with their 95 % intervals")
        view.setShowGrid(False)
        view.setWordWrap(False)
        view.verticalHeader().hide()
        view.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + SMALL)
        view.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header = view.horizontalHeader()
        header.setHighlightSections(False)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        for column, wide in column_widths(self.fontMetrics().horizontalAdvance("0")).items():
            view.setColumnWidth(column, wide)
        header.setMinimumSectionSize(40)
        header.setSectionResizeMode(CHART, QHeaderView.ResizeMode.Stretch)
        words = sum(view.columnWidth(column) for column in (NAME, RATE))
        frame = 2 * view.frameWidth() + view.verticalScrollBar().sizeHint().width()
        view.setMinimumWidth(words + header.sectionSizeHint(CHART) + frame)

    def _lay_out(self) -> None:
        labels = [(quantity(name).label, name) for name in QUANTITIES]
        fill_choices(self.quantity, [(f"Rate of {label}", name) for label, name in labels], None)
        fill_choices(self.which, [(text, key) for key, text in STRINGS_SHOWN.items()], None)
        points = [(f"{quantity(name).label} at STC", name) for name in KEY_POINT_NAMES]
        fill_choices(self.point, points, "p_mp")
        self.quantity.setAccessibleName("Quantity whose rate is shown")
        self.which.setAccessibleName("Strings listed below the groups")
        self.point.setAccessibleName("Key point of the history")
        self.key.setToolTip(KEY)
        self.key.setWordWrap(True)
        self.said.setFrameShape(QFrame.Shape.NoFrame)
        self.said.setAccessibleName("What may be said of the string and of the site")
        top = QHBoxLayout()
        top.setSpacing(SMALL)
        top.addWidget(self.quantity)
        top.addWidget(self.which)
        top.addStretch(1)
        left = self._column(top, self.view, self.key)
        chooser = QHBoxLayout()
        chooser.addWidget(self.point)
        chooser.addStretch(1)
        self._parts = (
            ("In words", self.said),
            ("Its history", self._column(chooser, self.history)),
            ("All strings by visit", self.boxes),
        )
        self.tabs.setDocumentMode(True)
        self._split = QSplitter(Qt.Orientation.Horizontal, self)
        self._split.setChildrenCollapsible(False)
        self._split.addWidget(left)
        self._split.addWidget(self.tabs)
        self._split.setStretchFactor(0, 3)
        self._split.setStretchFactor(1, 2)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.addWidget(self._split, 1)
        self._arrange(wide=False)

    def _arrange(self, wide: bool) -> None:
        """Side by side where there is room, else as pages of one tab bar."""
        self._wide = wide
        for title, part in self._parts:
            if wide:
                self._split.addWidget(part)
                part.show()
            else:
                self.tabs.addTab(part, title)
        self.tabs.setVisible(not wide)
        width = max(self.width(), 1)
        shares = (0.4, 0.0, 0.26, 0.17, 0.17) if wide else (0.58, 0.42)
        self._split.setSizes([round(width * share) for share in shares])

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        wide = self.width() >= WIDE
        if wide != self._wide:
            self._arrange(wide)
        self.view.setColumnHidden(COUNT, self.width() < ROOMY)

    def _column(self, top: QHBoxLayout, *below: QWidget) -> QWidget:
        made = QWidget(self)
        column = QVBoxLayout(made)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SMALL)
        column.addLayout(top)
        column.addWidget(below[0], 1)
        for widget in below[1:]:
            column.addWidget(widget)
        return made

    def refill(self, *_: object) -> None:
        years = self._session.years.found
        if years is None:
            self.model.show_rows((), {})
            self.boxes.show_visits((), frozenset())
        else:
            which, combiner = self.which.currentData(), self._combiner()
            rows = rate_rows(years, self.quantity.currentData(), which, combiner)
            shown = years.traced.on_visit.get(self._session.choices.visit.value or "", {})
            self.model.show_rows(rows, years.traced.latest | shown)
        self.show_current()

    def _combiner(self) -> str | None:
        current = self._session.current
        if current is not None:
            return current.trace.combiner or ""
        return next(iter(self._session.combiners()), None)

    def _place(self) -> Place | None:
        current = self._session.current
        return None if current is None else current.trace.place

    def show_current(self, *_: object) -> None:
        """Mark the current string in the boxes, draw its history, say what may be said."""
        years, place = self._session.years.found, self._place()
        if years is None:
            self.history.show_history(None, None)
            self._say(WAITING)
            return
        combiners = {row.place[0] for row in self.model.rows if row.place}
        other = place is not None and place[0] not in combiners
        if self.which.currentData() == "combiner" and other and place in years.rates:
            self.refill()
            return
        seen = years.by_string.get(place, ()) if place else ()
        self.boxes.show_visits(years.ratios, frozenset(one.source for one in seen))
        past = None if place is None else history(years, place, self.point.currentData())
        self.history.show_history(past, years.rates.get(place) if place else None)
        self._say(self._words(years, place))

    def _words(self, years: Years, place: Place | None) -> str:
        theme = self._look.theme.value
        parts = []
        if place is not None:
            parts.append(heading(" / ".join(place), theme))
            parts += [f"<div>{escape(one)}</div>" for one in string_sentences(years, place)]
        parts.append(heading("The site", theme))
        parts += [f"<div>{escape(one)}</div>" for one in site_sentences(years)]
        return "".join(parts)

    def _say(self, text: str) -> None:
        if text != self._said:
            self._said = text
            self.said.setHtml(text)

    def _dress(self, *_: object) -> None:
        theme = self._look.theme.value
        self.cells.theme = theme
        self.boxes.set_theme(theme)
        self.history.set_theme(theme)
        self.view.viewport().update()
        self._current_later.ask()
