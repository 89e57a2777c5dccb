"""Reports: which document, what people enter for it, a preview, and where it is written."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFileDialog,
    QFormLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QScrollArea,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from viewer.state.reporting.report_form import ReportForm
from viewer.state.reporting.report_making import KINDS
from viewer.state.session import Session
from viewer.widgets.controls.binding import ChoiceTie, fill_choices, follow
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.reporting.report_preview import ReportPreview

LINES: tuple[tuple[str, str, str], ...] = (
    ("title", "Title", "as the document's kind says"),
    ("client", "Client", ""),
    ("tester", "Tested by", ""),
    ("qualification", "Qualification", "as the local code asks for it"),
    ("weather", "Weather", ""),
    ("sensor", "Sensors", "where they stood and in which plane"),
    ("next_inspection", "Next inspection", "a date or a season"),
)
WRITERS: tuple[tuple[str, str, str], ...] = (
    ("Save PDF…", ".pdf", "PDF document (*.pdf)"),
    ("Save workbook…", ".xlsx", "Workbook (*.xlsx)"),
    ("Save evidence pack…", ".zip", "Evidence pack (*.zip)"),
)
TEXT_HEIGHT = 64
NEWEST = "the newest"


class ReportPane(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.form = ReportForm(session)
        self.kind = QComboBox(self)
        self.kind_said = QLabel(self)
        self.visit = QComboBox(self)
        self.lines = {name: QLineEdit(self) for name, _, _ in LINES}
        self.instruments = self._text("Instruments", "One line each: name, serial, calibrated on")
        self.remarks = self._text("Remarks", "Printed in the summary")
        self.words = self._text("Own words", "Instead of the program's words for this string")
        self.words_of = QLabel(self)
        self.logo = QLineEdit(self)
        self.comma = QCheckBox("Decimal comma", self)
        self.plots = QCheckBox("Plots", self)
        self.only_selected = QCheckBox("Selected strings only", self)
        self.strings = QLabel(self)
        self.preview = ReportPreview(self.form, look, self)
        self.buttons: dict[str, QPushButton] = {}
        fill_choices(self.kind, [(kind.capitalize(), kind) for kind in KINDS], None)
        self._fill_visits()
        self._ties = (ChoiceTie(self.kind, self.form.kind), ChoiceTie(self.visit, self.form.visit))
        self._lay_out()
        self._connect()
        self.refill()

    def _text(self, name: str, hint: str) -> QPlainTextEdit:
        made = QPlainTextEdit(self)
        made.setAccessibleName(name)
        made.setPlaceholderText(hint)
        made.setFixedHeight(TEXT_HEIGHT)
        made.setTabChangesFocus(True)
        return made

    def _lay_out(self) -> None:
        fields = QWidget(self)
        form = QFormLayout()
        form.setSpacing(SMALL)
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        self.kind_said.setWordWrap(True)
        form.addRow("Document", self.kind)
        form.addRow("", self.kind_said)
        self.visit.setToolTip("The visit it is about; later ones are left out of its rates")
        form.addRow("Visit", self.visit)
        for name, label, hint in LINES:
            self.lines[name].setPlaceholderText(hint)
            form.addRow(label, self.lines[name])
        form.addRow("Instruments", self.instruments)
        form.addRow("Remarks", self.remarks)
        form.addRow("Logo", self._logo_row())
        form.addRow("Print", self._choices_row())
        self.strings.setWordWrap(True)
        form.addRow("", self.strings)
        self.words_of.setWordWrap(True)
        form.addRow(self.words_of)
        form.addRow("Own words", self.words)
        above = QVBoxLayout(fields)
        above.setContentsMargins(0, 0, SMALL, 0)
        above.addLayout(form)
        above.addStretch(1)
        area = QScrollArea(self)
        area.setWidget(fields)
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        bar = area.verticalScrollBar().sizeHint().width()
        area.setMinimumWidth(fields.minimumSizeHint().width() + bar)
        halves = QSplitter(self)
        halves.addWidget(area)
        halves.addWidget(self.preview)
        halves.setChildrenCollapsible(False)
        halves.setStretchFactor(0, 2)
        halves.setStretchFactor(1, 3)
        halves.setSizes([400, 600])
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.setSpacing(SMALL)
        column.addWidget(halves, 1)
        column.addLayout(self._button_row())

    def _logo_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        self.logo.setAccessibleName("Logo")
        self.logo.setPlaceholderText("PNG or JPEG picture")
        self.logo.setToolTip("A PNG or JPEG picture; its shape is kept")
        choose = QPushButton("Choose…", self)
        choose.clicked.connect(self._choose_logo)
        row.addWidget(self.logo, 1)
        row.addWidget(choose)
        return row

    def _choices_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        for box in (self.plots, self.only_selected, self.comma):
            row.addWidget(box)
        row.addStretch(1)
        return row

    def _button_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(SMALL)
        self._add_button(row, "Preview", self.form.make_preview)
        for text, suffix, kind in WRITERS:
            self._add_button(row, text, partial(self._ask, suffix, kind))
        self._add_button(row, "Keep entries", self.form.keep)
        row.addStretch(1)
        return row

    def _add_button(self, row: QHBoxLayout, text: str, act: Callable[[], object]) -> None:
        button = QPushButton(text, self)
        button.clicked.connect(lambda *_: act())
        row.addWidget(button)
        self.buttons[text] = button

    def _connect(self) -> None:
        for name, line in self.lines.items():
            line.textChanged.connect(lambda text, one=name: self.form.put(one, text.strip()))
        self.logo.textChanged.connect(self._logo_typed)
        self.instruments.textChanged.connect(self._instruments_typed)
        self.remarks.textChanged.connect(
            lambda: self.form.put("remarks", self.remarks.toPlainText().strip())
        )
        self.words.textChanged.connect(self._words_typed)
        self.comma.toggled.connect(lambda on: self.form.put("decimal_comma", on or None))
        self.plots.toggled.connect(lambda on: self.form.put("plots", None if on else False))
        self.only_selected.toggled.connect(self._only_selected)
        session = self._session
        follow(self, self.form.changed, self.refill)
        follow(self, self.form.kind.changed, self._kind_chosen)
        self._kind_chosen(self.form.kind.value)
        follow(self, session.selection.changed, self._selection_changed)
        follow(self, session.arrived, self._selection_changed)
        for notifier in (session.opened, session.arrived, session.loaded):
            follow(self, notifier, self._fill_visits)

    def refill(self, *_: object) -> None:
        """Show the entries that are kept with the site."""
        form = self.form
        for name, line in self.lines.items():
            _show(line, form.get(name))
        _show(self.logo, str(form.get("logo")))
        for box, text in (
            (self.instruments, "\n".join(form.get("instruments", ()))),
            (self.remarks, form.get("remarks")),
        ):
            with QSignalBlocker(box):
                box.setPlainText(text)
        for check, on in (
            (self.comma, form.get("decimal_comma", False)),
            (self.plots, form.get("plots", True)),
            (self.only_selected, bool(form.get("strings", ()))),
        ):
            with QSignalBlocker(check):
                check.setChecked(on)
        self._selection_changed()

    def _fill_visits(self, *_: object) -> None:
        choices = [(name, name) for name in self.form.visits()]
        fill_choices(self.visit, [(NEWEST, None), *choices], self.form.visit.value)

    def _kind_chosen(self, kind: str) -> None:
        """What that document is about, in a line under its name."""
        words = KINDS[kind]
        self.kind_said.setText(f"{words[:1].upper()}{words[1:]}")

    def _selection_changed(self, *_: object) -> None:
        current = self._session.current
        self.words.setEnabled(current is not None)
        name = self._session.label_of(current) if current else "no string selected"
        self.words_of.setText(f"Current string: {name}")
        words = self.form.words_for(current.trace.source if current else None)
        if self.words.toPlainText() != words:
            with QSignalBlocker(self.words):
                self.words.setPlainText(words)
        self.strings.setText(self.form.chosen_strings())
        open_now = bool(self._session.results)
        for button in self.buttons.values():
            button.setEnabled(open_now)

    def _only_selected(self, on: bool) -> None:
        self.form.take_selected(on)
        self.strings.setText(self.form.chosen_strings())

    def _logo_typed(self, text: str) -> None:
        self.form.put("logo", Path(text.strip()) if text.strip() else None)

    def _instruments_typed(self) -> None:
        lines = [one.strip() for one in self.instruments.toPlainText().splitlines()]
        self.form.put("instruments", tuple(one for one in lines if one))

    def _words_typed(self) -> None:
        current = self._session.current
        if current is not None:
            self.form.put_words(current.trace.source, self.words.toPlainText())

    def _choose_logo(self) -> None:
        chosen, _ = QFileDialog.getOpenFileName(
            self, "Choose a logo", "", "Pictures (*.png *.jpg *.jpeg)"
        )
        if chosen:
            self.logo.setText(chosen)

    def _ask(self, suffix: str, kind: str) -> None:
        folder = self._session.folder
        start = (folder.parent if folder else Path.home()) / f"{self.form.kind.value}{suffix}"
        chosen, _ = QFileDialog.getSaveFileName(self, "Save the report", str(start), kind)
        if chosen:
            path = Path(chosen)
            self.form.write(path if path.suffix.lower() == suffix else path.with_suffix(suffix))


def _show(line: QLineEdit, text: str) -> None:
    if line.text() != text:
        with QSignalBlocker(line):
            line.setText(text)
