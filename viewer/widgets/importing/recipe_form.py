"""A reading recipe as a form: how the text is cut, the columns, the path, the fields."""

from dataclasses import replace

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFormLayout,
    QFrame,
    QGridLayout,
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QMenu,
    QPlainTextEdit,
    QPushButton,
    QScrollArea,
    QStyle,
    QVBoxLayout,
    QWidget,
)

from viewer.reading.recipes.recipe import FieldSource, Recipe
from viewer.reading.tables.cell_grid import DELIMITERS
from viewer.reading.tables.raw_table import RawTable
from viewer.reading.trace_building import find_column
from viewer.state.importing.file_preview import FilePreview
from viewer.state.importing.recipe_edits import (
    CURVE_ROLES,
    with_curve,
    with_field,
    with_role,
    with_sheet,
    with_sign,
    with_text,
    with_unit,
)
from viewer.state.importing.recipe_words import PATH_EXAMPLES, path_words
from viewer.widgets.controls.binding import fill_choices
from viewer.widgets.controls.theme import SMALL
from viewer.widgets.importing.field_rows import BETWEEN, field_rows

FIND_OUT = "as found in each file"
UNITS = {"voltage": ("V", "mV", "kV", "µV"), "current": ("A", "mA", "kA", "µA")}
MARKS = {"tab": "tab", "spaces": "spaces", ";": "semicolon ;", ",": "comma ,", "|": "bar |"}


class RecipeForm(QScrollArea):
    """Shows a recipe beside the file it is tried on; `edited` passes a corrected recipe."""

    edited = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._recipe = Recipe()
        self._table: RawTable | None = None
        self._source = ""
        self.delimiter = self._choice("Separator between columns")
        self.decimal = self._choice("Decimal mark")
        self.thousands = self._choice("Thousands mark")
        self.sheet = self._choice("Sheet of the workbook")
        self.curve = self._choice("Which of the curves")
        self.columns = {kind: self._choice(f"Column of {kind}") for kind in CURVE_ROLES}
        self.units = {kind: self._choice(f"Unit of {kind}", 8) for kind in CURVE_ROLES}
        self.turned = {kind: QCheckBox(f"turn {kind}", self) for kind in CURVE_ROLES}
        self.group = self._choice("Column that tells traces apart")
        self.paths = QPlainTextEdit(self)
        self.path_said = QLabel(self)
        self._lay_out()
        self._connect()

    def _choice(self, name: str, letters: int = 6) -> QComboBox:
        made = QComboBox(self)
        made.setAccessibleName(name)
        made.setMinimumContentsLength(letters)
        made.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        return made

    def _lay_out(self) -> None:
        inside = QWidget(self)
        column = QVBoxLayout(inside)
        column.setSpacing(SMALL)
        column.addWidget(self._columns_box())
        column.addWidget(self._path_box())
        fields = QGroupBox("Names, time and conditions", self)
        grid = QGridLayout(fields)
        grid.setSpacing(SMALL)
        self.fields = field_rows(grid, self)
        column.addWidget(fields)
        column.addWidget(self._text_box())
        column.addStretch(1)
        self.setWidget(inside)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        bar = self.style().pixelMetric(QStyle.PixelMetric.PM_ScrollBarExtent)
        self.setMinimumWidth(inside.minimumSizeHint().width() + bar)

    def _columns_box(self) -> QGroupBox:
        box = QGroupBox("Columns of the sweep", self)
        form = QFormLayout(box)
        form.setSpacing(SMALL)
        form.addRow("Curve", self.curve)
        for kind in CURVE_ROLES:
            row = QHBoxLayout()
            row.addWidget(self.columns[kind], 2)
            row.addWidget(self.units[kind], 1)
            self.units[kind].setToolTip("Of every curve; empty takes the heading's own unit")
            self.turned[kind].setToolTip("For files that give it with a minus sign")
            form.addRow(kind.capitalize(), row)
        signs = QHBoxLayout()
        for kind in CURVE_ROLES:
            signs.addWidget(self.turned[kind])
        signs.addStretch(1)
        form.addRow("Sign", signs)
        form.addRow("Traces apart by", self.group)
        return box

    def _path_box(self) -> QGroupBox:
        box = QGroupBox("Names from folder and file name", self)
        column = QVBoxLayout(box)
        self.paths.setAccessibleName("Patterns searched in the path, one a line")
        self.paths.setPlaceholderText(r"(?P<combiner>[^/]+)/(?P<string>[^/]+)\.csv")
        self.paths.setFixedHeight(3 * self.fontMetrics().lineSpacing())
        self.paths.setTabChangesFocus(True)
        self.paths.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self.paths.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.path_said.setWordWrap(True)
        examples = QPushButton("Usual ways", self)
        menu = QMenu(examples)
        for words, pattern in PATH_EXAMPLES:
            menu.addAction(words).triggered.connect(
                lambda _=False, text=pattern: self.paths.setPlainText(text)
            )
        examples.setMenu(menu)
        column.addWidget(self.paths)
        row = QHBoxLayout()
        row.addWidget(self.path_said, 1)
        row.addWidget(examples, 0, Qt.AlignmentFlag.AlignTop)
        column.addLayout(row)
        return box

    def _text_box(self) -> QGroupBox:
        box = QGroupBox("How the text is cut", self)
        form = QFormLayout(box)
        form.setSpacing(SMALL)
        form.addRow("Separator", self.delimiter)
        form.addRow("Decimal mark", self.decimal)
        form.addRow("Thousands", self.thousands)
        form.addRow("Sheet", self.sheet)
        return box

    def _connect(self) -> None:
        for box in (self.delimiter, self.decimal, self.thousands):
            box.activated.connect(self._text_chosen)
        self.sheet.activated.connect(
            lambda _: self._edit(with_sheet(self._recipe, self.sheet.currentData()))
        )
        self.curve.activated.connect(self._fill_curve)
        for kind in CURVE_ROLES:
            self.columns[kind].activated.connect(lambda _, one=kind: self._column_chosen(one))
            self.units[kind].activated.connect(lambda _, one=kind: self._unit_chosen(one))
            self.turned[kind].clicked.connect(lambda on, one=kind: self._sign_turned(one, on))
        self.group.activated.connect(self._group_chosen)
        self.paths.textChanged.connect(self._paths_typed)
        for row in self.fields.values():
            row.edited.connect(self._field_edited)

    def show_recipe(self, recipe: Recipe | None, preview: FilePreview | None) -> None:
        """The recipe that corrections start from, and the file that offers the choices."""
        self._recipe = recipe or Recipe()
        self._table = preview.table if preview is not None else None
        self._source = preview.file.source if preview is not None else ""
        rules = self._recipe.text
        found: list[tuple[str, object]] = [(FIND_OUT, "")]
        marks: list[tuple[str, object]] = [(MARKS[one], one) for one in DELIMITERS]
        fill_choices(self.delimiter, found + marks, rules.delimiter)
        fill_choices(self.decimal, [*found, ("point .", "."), ("comma ,", ",")], rules.decimal)
        thousands: list[tuple[str, object]] = [
            (FIND_OUT, None),
            ("none", ""),
            ("point .", "."),
            ("comma ,", ","),
            ("apostrophe '", "'"),
            ("space", " "),
        ]
        fill_choices(self.thousands, thousands, rules.thousands)
        self._fill_sheets(preview)
        self._fill_curves()
        self._fill_group()
        if self._paths() != self._recipe.paths:
            with QSignalBlocker(self.paths):
                self.paths.setPlainText("\n".join(self._recipe.paths))
        self._say_path()
        for name, row in self.fields.items():
            row.show_source(self._recipe.fields.get(name), self._table)

    def _fill_sheets(self, preview: FilePreview | None) -> None:
        places = [one.place for one in preview.tables if one.place] if preview else []
        known = dict.fromkeys((*places, *filter(None, (self._recipe.sheet,))))
        choices: list[tuple[str, object]] = [("every sheet", "")]
        fill_choices(self.sheet, choices + [(one, one) for one in known], self._recipe.sheet)
        self.sheet.setEnabled(bool(known))

    def _fill_curves(self) -> None:
        curves = self._recipe.curves
        count = len(curves)
        choices: list[tuple[str, object]] = [
            (f"{at + 1} of {count}" + (f": {one.label}" if one.label else ""), at)
            for at, one in enumerate(curves)
        ] or [("none yet", 0)]
        kept = self.curve.currentData() or 0
        fill_choices(self.curve, choices, kept if kept < count else 0)
        self.curve.setEnabled(count > 1)
        self._fill_curve()

    def _fill_curve(self, _: int = 0) -> None:
        table, curves = self._table, self._recipe.curves
        at = self.curve.currentData() or 0
        titles: list[tuple[str, object]] = [("choose…", -1)]
        if table is not None:
            titles += [(_short(table, one), one) for one in range(table.width)]
        for kind in CURVE_ROLES:
            ref = getattr(curves[at], kind) if at < len(curves) else None
            here = find_column(table, ref) if ref is not None and table is not None else None
            fill_choices(self.columns[kind], titles, -1 if here is None else here)
            unit = ref.unit if ref is not None else ""
            units = dict.fromkeys(("", *UNITS[kind], unit))
            fill_choices(self.units[kind], [(one or "as headed", one) for one in units], unit)
            with QSignalBlocker(self.turned[kind]):
                self.turned[kind].setChecked(ref is not None and ref.sign < 0)
            for box in (self.units[kind], self.turned[kind]):
                box.setEnabled(ref is not None)

    def _fill_group(self) -> None:
        now = self._recipe.group_by
        names = [name for name in self._table.names if name] if self._table else []
        known = dict.fromkeys((*names, *filter(None, (BETWEEN.join(now),))))
        choices: list[tuple[str, object]] = [("one trace a table", "")]
        choices += [(one.replace(BETWEEN, " + "), one) for one in known]
        fill_choices(self.group, choices, BETWEEN.join(now))

    def _edit(self, recipe: Recipe) -> None:
        if recipe != self._recipe:
            self._recipe = recipe
            self.edited.emit(recipe)

    def _text_chosen(self, _: int) -> None:
        rules = replace(
            self._recipe.text,
            delimiter=self.delimiter.currentData(),
            decimal=self.decimal.currentData(),
            thousands=self.thousands.currentData(),
        )
        self._edit(with_text(self._recipe, rules))

    def _column_chosen(self, kind: str) -> None:
        at = self.columns[kind].currentData()
        if at < 0 or self._table is None:
            return
        if self._recipe.curves:
            which = self.curve.currentData() or 0
            self._edit(with_curve(self._recipe, self._table, which, kind, at))
        else:
            self._edit(with_role(self._recipe, self._table, at, kind))

    def _unit_chosen(self, kind: str) -> None:
        self._edit(with_unit(self._recipe, kind, self.units[kind].currentData()))

    def _sign_turned(self, kind: str, on: bool) -> None:
        self._edit(with_sign(self._recipe, kind, -1 if on else 1))

    def _group_chosen(self, _: int) -> None:
        names = tuple(filter(None, self.group.currentData().split(BETWEEN)))
        self._edit(replace(self._recipe, group_by=names))

    def _field_edited(self, name: str, source: FieldSource | None) -> None:
        self._edit(with_field(self._recipe, name, source))

    def _paths(self) -> tuple[str, ...]:
        lines = self.paths.toPlainText().splitlines()
        return tuple(line.strip() for line in lines if line.strip())

    def _paths_typed(self) -> None:
        """A pattern that is wrong is said and not used yet."""
        if self._say_path():
            self._edit(replace(self._recipe, paths=self._paths()))

    def _say_path(self) -> bool:
        words, right = path_words(self._source, self._paths())
        self.path_said.setText(words)
        return right


def _short(table: RawTable, at: int) -> str:
    unit = f" [{table.units[at]}]" if table.units[at] else ""
    return f"{at + 1} {table.names[at][:30]}{unit}".strip()
