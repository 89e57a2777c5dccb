"""The mismatch pane: a combiner's strings in parallel, what is lost, what repairs would bring."""

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSpinBox, QVBoxLayout, QWidget

from viewer.physics.nomenclature import with_minus
from viewer.state.losses.combiner_losses import CombinerLosses, CombinerLossesOf
from viewer.state.session import Session
from viewer.state.strings.names_in_combiner import letters_in_common
from viewer.widgets.controls.binding import RowTie, follow
from viewer.widgets.controls.combiner_chooser import CombinerChooser
from viewer.widgets.controls.plain_rows import PlainRow, PlainRows, plain_table, set_widths
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.controls.visit_chooser import VisitChooser
from viewer.widgets.plot.plain_plot import PlainPlot
from viewer.widgets.strings.share_bars import ShareBars

HEADINGS = ("String", "Alone (W)", "Parallel (W)", "Mismatch (W)", "Repair gain (W)")
MEANINGS = (
    "The strings of the combiner, that first whose repair brings most",
    "Maximum power of the string by itself, from its curve translated to STC",
    "What it yields at the voltage at which the combiner's sum is greatest",
    "Alone less parallel: what the string loses by the combiner's common voltage",
    "What the combiner's maximum gains when this string alone is sound",
)
WIDTHS = (9, 7, 9, 10)
NOTHING = "No string of this combiner was traced on the shown visit."


class MismatchPane(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        self._losses = CombinerLossesOf()
        self.shown: CombinerLosses | None = None
        self.combiner = CombinerChooser(session, "Combiner whose mismatch is shown", self)
        self.said = QLabel(self)
        self.rows = PlainRows(session, HEADINGS, (1, 2, 3, 4), self, MEANINGS)
        self.list = plain_table(self.rows, "Strings of the combiner, worst first")
        self.bars = ShareBars(self)
        self.count = QSpinBox(self)
        self.repair = QLabel(self)
        self.plot = PlainPlot(
            "Power of the combiner over voltage", "Power (kW)", "Voltage (V)", self
        )
        self._power = pg.PlotDataItem()
        self._own = pg.InfiniteLine(angle=0)
        self._best = pg.ScatterPlotItem(size=11, symbol="o")
        self._words = pg.TextItem(anchor=(1, 1))
        self._lay_out()
        self._tie = RowTie(self.list, session.selection)
        self.count.valueChanged.connect(self._show_repair)
        choices = session.choices
        for notifier, method in (
            (session.opened, self.recompute),
            (session.arrived, self.recompute),
            (choices.visit.changed, self.recompute),
            (choices.combiner.changed, self.recompute),
            (look.theme.changed, self.dress),
        ):
            follow(self, notifier, method)
        self.dress()

    def _lay_out(self) -> None:
        self.said.setWordWrap(True)
        self.repair.setWordWrap(True)
        self.count.setAccessibleName("How many strings are repaired")
        self.count.setPrefix("Repairing the worst ")
        self.list.setItemDelegateForColumn(len(HEADINGS) - 1, self.bars)
        self.list.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft)
        set_widths(self.list, WIDTHS)
        top = QHBoxLayout()
        top.setSpacing(SMALL)
        top.addWidget(VisitChooser(self._session, self))
        top.addWidget(self.combiner)
        top.addWidget(self.said, 1)
        bottom = QHBoxLayout()
        bottom.setSpacing(SMALL)
        bottom.addWidget(self.count)
        bottom.addWidget(self.repair, 1)
        middle = QHBoxLayout()
        middle.setSpacing(MEDIUM)
        middle.addWidget(self.list, 5)
        middle.addWidget(self.plot, 3)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.setSpacing(SMALL)
        column.addLayout(top)
        column.addLayout(middle, 1)
        column.addLayout(bottom)
        self._set_up_plot()

    def _set_up_plot(self) -> None:
        self.plot.setMinimumWidth(180)
        for item in (self._power, self._own, self._best, self._words):
            self.plot.addItem(item)

    def dress(self, *_: object) -> None:
        theme = self._look.theme.value
        self.plot.dress(theme)
        self._power.setPen(pg.mkPen(theme.accent, width=2))
        self._own.setPen(pg.mkPen(theme.level_short, width=1.5, dash=[4, 3]))
        self._best.setBrush(pg.mkBrush(theme.accent))
        self._words.setColor(theme.text)
        self.bars.theme = theme
        self.list.viewport().update()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.recompute()

    def recompute(self, *_: object) -> None:
        """Only in sight, and once everything of a site has arrived or the pane is looked at."""
        if not self.isVisible():
            return
        session = self._session
        chosen = self.combiner.refill()
        found = self._losses.of(session, chosen) if chosen is not None else None
        if found is not self.shown or found is None:
            self.shown = found
            self._show()

    def _show(self) -> None:
        found = self.shown
        self.count.setEnabled(found is not None)
        self.plot.setVisible(found is not None)
        if found is None:
            self.rows.show_rows(())
            self.said.setText(NOTHING)
            self.repair.setText("")
            return
        worst = found.worst_first()
        known = letters_in_common(found.combiner, [one.string for one in worst])
        self.bars.values = tuple(one.repair_gain for one in worst)
        self.rows.show_rows(
            [
                PlainRow(
                    (
                        one.string[known:],
                        f"{one.own:.0f}",
                        f"{one.at_common_voltage:.0f}",
                        f"{one.mismatch:.0f}",
                        with_minus(f"{one.repair_gain:+.0f}"),
                    ),
                    (found.combiner, one.string),
                    found.traces.get(one.string),
                )
                for one in worst
            ]
        )
        self.said.setText(found.summary())
        self.count.setRange(1, len(worst))
        self._show_repair()
        self._draw(found)

    def _show_repair(self, *_: object) -> None:
        if self.shown is not None:
            count = self.count.value()
            self.count.setSuffix(" string" if count == 1 else " strings")
            self.repair.setText(self.shown.repair_text(count))

    def _draw(self, found: CombinerLosses) -> None:
        made = found.mismatch
        power = made.curve.voltage * np.maximum(made.curve.current, 0.0) / 1000.0
        self._power.setData(made.curve.voltage, power)
        self._own.setValue(made.sum_of_maxima / 1000.0)
        self._best.setData([made.v_mp], [made.p_mp / 1000.0])
        self._words.setText(f"– – sum of own maxima, +{made.loss:.0f} W")
        self._words.setPos(float(made.curve.voltage[-1]), made.sum_of_maxima / 1000.0)
        self.plot.setXRange(0.0, float(made.curve.voltage[-1]), padding=0.02)
        self.plot.setYRange(0.0, 1.4 * made.sum_of_maxima / 1000.0, padding=0.0)
