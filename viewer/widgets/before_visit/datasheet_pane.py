"""Datasheets: a site's module types, one picked from the list or one being entered."""

from html import escape

from PySide6.QtWidgets import (
    QComboBox,
    QFormLayout,
    QFrame,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QPushButton,
    QSpinBox,
    QTextBrowser,
    QWidget,
)

from viewer.physics.nomenclature import with_minus
from viewer.site_data.datasheet import TECHNOLOGIES, Datasheet
from viewer.site_data.module_library import module_count, module_named, search_modules
from viewer.site_data.site_toml import FILE_NAME
from viewer.state.datasheet_entry import (
    COUNTS,
    NUMBERS,
    add_module,
    describe_traces,
    judge,
    model_lines,
    residual_lines,
)
from viewer.state.session import Session
from viewer.widgets.controls.binding import fill_choices, follow
from viewer.widgets.controls.number_box import number_box
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look

EMPTY = Datasheet("NEW", "mono-Si", 10.0, 45.0, 9.5, 37.5, 0.05, -0.28, -0.35, 60)
"""A plausible start for typing; invented."""
FOUND_AT_MOST = 200


LONGEST_LINE = "Saturation current  1.003e-10 A"
"""Of what the fit says: the page is made that wide, so that no word of it is broken."""


class DatasheetPane(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        self.site_module = QComboBox(self)
        self.search = QLineEdit(self)
        self.found = QListWidget(self)
        self.key = QLineEdit(self)
        self.technology = QComboBox(self)
        self.numbers = {
            one.name: number_box(one.label, one.unit, -1000, 5000, 0, one.decimals)
            for one in NUMBERS
        }
        self.counts = {name: QSpinBox(self) for name, _ in COUNTS}
        self.bifaciality = number_box("Bifaciality", "", 0, 1, 0, 2)
        self.in_series = QSpinBox(self)
        self.keep = QPushButton("Add to site.toml", self)
        self.describe = QPushButton("Make a site.toml", self)
        self.said = QTextBrowser(self)
        self._library: str | None = None
        self._filling = False
        self._usable = False
        self._lay_out()
        self._connect()
        self.refill()
        self.show_datasheet(EMPTY)
        self.follow_selection()

    def _lay_out(self) -> None:
        self.site_module.setAccessibleName("Module type of the site")
        self.search.setPlaceholderText("part of a name")
        self.search.setAccessibleName("Search pvlib's CEC list")
        self.search.setToolTip(f"Any part of a name, among {module_count():,} modules")
        self.found.setAccessibleName("Modules found")
        self.key.setAccessibleName("Key of the module in site.toml")
        self.technology.setAccessibleName("Technology")
        self.technology.addItems(list(TECHNOLOGIES))
        for name, words in COUNTS:
            self.counts[name].setRange(0, 500)
            self.counts[name].setAccessibleName(words)
        self.in_series.setRange(1, 60)
        self.in_series.setValue(20)
        self.in_series.setSuffix(" in series")
        self.describe.setToolTip("For these traces: a site.toml with this module in every string")
        self.in_series.setAccessibleName("Modules in series of every traced string")
        self.said.setFrameShape(QFrame.Shape.NoFrame)
        self.said.setAccessibleName("What the datasheet's numbers say")
        left = QFormLayout()
        left.setSpacing(SMALL)
        left.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapAllRows)
        left.addRow("Of the site", self.site_module)
        left.addRow("From the list", self.search)
        left.addRow(self.found)
        middle = QFormLayout()
        middle.setSpacing(SMALL)
        middle.addRow("Key", self.key)
        middle.addRow("Technology", self.technology)
        for one in NUMBERS:
            middle.addRow(one.label, self.numbers[one.name])
        cells = QFormLayout()
        cells.setSpacing(SMALL)
        for name, words in COUNTS:
            cells.addRow(words, self.counts[name])
        cells.addRow("Bifaciality", self.bifaciality)
        cells.addRow(self.keep)
        cells.addRow(self.describe)
        cells.addRow(self.in_series)
        row = QHBoxLayout(self)
        row.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        row.setSpacing(MEDIUM)
        row.addLayout(left, 3)
        row.addLayout(middle, 3)
        row.addLayout(cells, 3)
        row.addWidget(self.said, 5)
        digit = self.fontMetrics().horizontalAdvance("0")
        for number in self.numbers.values():
            number.setMinimumWidth(13 * digit)
        for box in (*self.counts.values(), self.bifaciality, self.in_series):
            box.setMinimumWidth(7 * digit)
        self.found.setMinimumWidth(100)
        widest = self.fontMetrics().horizontalAdvance(LONGEST_LINE)
        self.said.setMinimumWidth(
            widest + 3 * MEDIUM + self.said.verticalScrollBar().sizeHint().width()
        )

    def _connect(self) -> None:
        self.search.textChanged.connect(self.show_found)
        self.found.currentTextChanged.connect(self._listed_chosen)
        self.site_module.activated.connect(self._site_module_chosen)
        for box in (*self.numbers.values(), self.bifaciality):
            box.valueChanged.connect(self._typed)
        for count in self.counts.values():
            count.valueChanged.connect(self._typed)
        self.technology.currentIndexChanged.connect(self._typed)
        self.key.textChanged.connect(self._typed)
        self.keep.clicked.connect(self.add_to_site)
        self.describe.clicked.connect(self.describe_site)
        follow(self, self._session.opened, self.refill)
        follow(self, self._session.arrived, self.refill)
        follow(self, self._session.selection.changed, self.follow_selection)

    def refill(self, *_: object) -> None:
        layout = self._session.layout
        keys = list(layout.modules) if layout else []
        choices: list[tuple[str, object]] = [(key, key) for key in keys]
        choices = choices or [("no module types", None)]
        fill_choices(self.site_module, choices, self.site_module.currentData())
        folder = self._session.folder
        is_folder = folder is not None and folder.is_dir()
        described = is_folder and folder is not None and (folder / FILE_NAME).exists()
        self.keep.setEnabled(bool(described))
        self.describe.setEnabled(bool(is_folder and not described and self._session.results))
        self.in_series.setEnabled(self.describe.isEnabled())

    def follow_selection(self) -> None:
        """The module of the current string is the one shown."""
        layout, result = self._session.layout, self._session.current
        if layout is None or result is None:
            return
        string = layout.string(result.trace.combiner, result.trace.string)
        if string is not None and string.module in layout.modules:
            place = self.site_module.findData(string.module)
            if place != self.site_module.currentIndex():
                self.site_module.setCurrentIndex(place)
            if self.key.text() != string.module:
                self.show_datasheet(layout.modules[string.module])

    def show_found(self, text: str) -> None:
        """The list follows every letter."""
        self.found.clear()
        if text.strip():
            self.found.addItems(list(search_modules(text, FOUND_AT_MOST)))

    def _listed_chosen(self, name: str) -> None:
        if name:
            self.show_datasheet(module_named(name).datasheet)

    def _site_module_chosen(self, _: int) -> None:
        layout, key = self._session.layout, self.site_module.currentData()
        if layout is not None and key in layout.modules:
            self.show_datasheet(layout.modules[key])

    def show_datasheet(self, datasheet: Datasheet) -> None:
        """Fill the form; what is typed afterwards is judged from there."""
        self._filling = True
        try:
            self.key.setText(datasheet.key)
            self.technology.setCurrentText(datasheet.technology)
            for name, box in self.numbers.items():
                box.setValue(getattr(datasheet, name))
            for name, count in self.counts.items():
                count.setValue(getattr(datasheet, name))
            self.bifaciality.setValue(datasheet.bifaciality)
            self._library = datasheet.library
        finally:
            self._filling = False
        self._judge()

    def entered(self) -> Datasheet:
        """The datasheet as the form holds it."""
        number = {name: box.value() for name, box in self.numbers.items()}
        count = {name: box.value() for name, box in self.counts.items()}
        return Datasheet(
            self.key.text().strip(),
            self.technology.currentText(),
            number["i_sc"],
            number["v_oc"],
            number["i_mp"],
            number["v_mp"],
            number["alpha_sc"],
            number["beta_voc"],
            number["gamma_pmp"],
            count["cells_in_series"],
            count["parallel_paths"],
            count["bypass_diodes"],
            self.bifaciality.value(),
            self._library,
        )

    def _typed(self, *_: object) -> None:
        if not self._filling:
            self._library = None
            self._judge()

    def _judge(self) -> None:
        datasheet = self.entered()
        said = judge(datasheet)
        theme = self._look.theme.value
        parts: list[str] = []
        if said.problems:
            parts.append(_listed("These numbers contradict each other", said.problems))
        elif said.fit is not None and said.fit.model is not None:
            parts.append(_table("Single-diode model at STC", model_lines(said.fit.model)))
            parts.append(_table("Model minus datasheet", residual_lines(said.fit, datasheet)))
        if said.remarks:
            parts.append(_listed("Worth knowing", said.remarks))
        colour = theme.level_short if said.problems else theme.text
        self.said.setHtml(f'<div style="color:{colour}">' + "".join(parts) + "</div>")
        self._usable = said.usable

    def add_to_site(self) -> None:
        """Append the module to site.toml and open the folder again."""
        folder = self._session.folder
        if folder is None or not self._check_usable():
            return
        try:
            self._session.message.value = self._session.history.change_file(
                f"Module {self.entered().key} in site.toml",
                folder / FILE_NAME,
                lambda: add_module(folder, self.entered(), self._session.layout),
            )
        except (OSError, ValueError) as problem:
            self._session.message.value = str(problem)
            return
        self._session.open(folder)

    def describe_site(self) -> None:
        """Write a site.toml for a folder of bare traces and open it again."""
        folder = self._session.folder
        if folder is None or not self._check_usable():
            return
        try:
            self._session.message.value = self._session.history.change_file(
                "site.toml made",
                folder / FILE_NAME,
                lambda: describe_traces(
                    folder, self._session.results, self.entered(), self.in_series.value()
                ),
            )
        except (OSError, ValueError) as problem:
            self._session.message.value = str(problem)
            return
        self._session.open(folder)

    def _check_usable(self) -> bool:
        if not self._usable:
            self._session.message.value = "The datasheet's numbers contradict each other."
        return self._usable


def _listed(title: str, sentences: tuple[str, ...]) -> str:
    items = "".join(f"<li>{escape(with_minus(one))}</li>" for one in sentences)
    return f"<p><b>{title}</b></p><ul>{items}</ul>"


def _unbroken(value: str) -> str:
    return escape(value).replace(" ", "&nbsp;")


def _table(title: str, lines: list[tuple[str, str]]) -> str:
    rows = "".join(
        f'<tr><td>{escape(name)}</td><td align="right">&nbsp;&nbsp;{_unbroken(value)}</td></tr>'
        for name, value in lines
    )
    return f"<p><b>{title}</b></p><table>{rows}</table>"
