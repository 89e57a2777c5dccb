"""Sweep and fit: five parameters of the current curve, its residuals, slopes and quality."""

from html import escape

import numpy as np
import pyqtgraph as pg
from PySide6.QtWidgets import QFrame, QHBoxLayout, QTextBrowser, QWidget

from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.curve_fit.parameter_fit import ParameterFit
from viewer.physics.nomenclature import with_minus
from viewer.state.session import Session
from viewer.state.strings.sweep_reading import (
    Line,
    SweepFits,
    parameter_lines,
    quality_lines,
    slope_lines,
)
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.controls.when_seen import WhenSeen
from viewer.widgets.plot.plain_plot import PlainPlot

HELD_NOTE = "of the whole string as traced, ± expanded (k = 2)"


class SweepPane(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        self._fits = SweepFits(session.jobs)
        self.said = QTextBrowser(self)
        self.curves = PlainPlot(
            "Points of the sweep and the fitted curve", "Current (A)", "Voltage (V)", self
        )
        self.residuals = PlainPlot(
            "Measured less fitted current, over voltage",
            "Measured − fitted (A)",
            "Voltage (V)",
            self,
        )
        self._zero = pg.InfiniteLine(0, angle=0)
        self._points = pg.ScatterPlotItem(size=5, pxMode=True)
        self._fitted = pg.PlotCurveItem()
        self._left_out = pg.ScatterPlotItem(size=9, symbol="x", pxMode=True)
        self._missed = pg.PlotDataItem(symbol="o", symbolSize=4)
        self._lay_out()
        self._later = WhenSeen(self, self.show_current)
        for notifier in (session.selection.changed, session.arrived, self._fits.arrived):
            follow(self, notifier, self._later.ask)
        follow(self, session.opened, self.start_afresh)
        follow(self, look.theme.changed, self.dress)
        self.dress()
        self._later.ask()

    def _lay_out(self) -> None:
        self.said.setFrameShape(QFrame.Shape.NoFrame)
        self.said.setAccessibleName("Fitted parameters, slopes and quality of the current sweep")
        for item in (self._fitted, self._points, self._left_out):
            self.curves.addItem(item)
        self.residuals.addItem(self._missed)
        self.residuals.addItem(self._zero, ignoreBounds=True)
        self.residuals.setXLink(self.curves)
        for plot in (self.curves, self.residuals):
            plot.setMinimumHeight(110)
        row = QHBoxLayout(self)
        row.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        row.setSpacing(MEDIUM)
        row.addWidget(self.said, 3)
        row.addWidget(self.curves, 2)
        row.addWidget(self.residuals, 2)

    def dress(self, *_: object) -> None:
        theme = self._look.theme.value
        for plot in (self.curves, self.residuals):
            plot.dress(theme)
        self._zero.setPen(pg.mkPen(theme.axis, width=1))
        self._fitted.setPen(pg.mkPen(theme.accent, width=2))
        self._points.setBrush(pg.mkBrush(None))
        self._points.setPen(pg.mkPen(theme.text))
        self._left_out.setPen(pg.mkPen(theme.level_short, width=2))
        self._missed.setPen(pg.mkPen(theme.subtle))
        self._missed.setSymbolPen(pg.mkPen(theme.text))
        self._missed.setSymbolBrush(pg.mkBrush(theme.base))

    def start_afresh(self, *_: object) -> None:
        self._fits.forget()
        self._later.ask()

    def show_current(self, *_: object) -> None:
        result = self._session.current
        if result is None:
            self.said.setHtml("<p>No string selected</p>")
            self._show_curve(None)
            return
        fit = self._fits.of(result)
        parts = [f"<b>{escape(self._session.label_of(result))}</b>"]
        if isinstance(fit, str):
            parts.append(f"<p>{escape(fit)}</p>")
            self._show_curve(None)
        else:
            parts.append(_table("Five parameters " + HELD_NOTE, parameter_lines(fit)))
            parts += [f"<p>{escape(with_minus(remark))}</p>" for remark in fit.remarks]
            parts.append(self._together(result))
            self._show_curve(fit)
        if result.sweep is not None:
            parts.append(_table("Slopes (−dV/dI)", slope_lines(result.sweep)))
            parts.append(_table("The sweep", quality_lines(result.sweep)))
            parts += [f"<p>{escape(with_minus(remark))}</p>" for remark in result.sweep.remarks]
        self.said.setHtml("".join(parts))

    def _together(self, result: TraceResult) -> str:
        """The parameters of all selected sweeps of the string, where they are repeats."""
        chosen = (self._session.result(one) for one in self._session.selection.ids)
        found = self._fits.together(result, [one for one in chosen if one is not None])
        if found is None:
            return ""
        count, fit = found
        lines = parameter_lines(fit)
        remarks = "".join(f"<p>{escape(with_minus(remark))}</p>" for remark in fit.remarks)
        return _table(f"Of the {count} selected repeats together", lines) + remarks

    def _show_curve(self, fit: ParameterFit | None) -> None:
        if fit is None:
            for item in (self._points, self._fitted, self._left_out, self._missed):
                item.setData([], [])
            return
        self._points.setData(fit.voltage, fit.current)
        order = np.argsort(fit.voltage)
        self._fitted.setData(fit.voltage[order], fit.fitted_current[order])
        self._left_out.setData(fit.voltage[fit.left_out], fit.current[fit.left_out])
        self._missed.setData(fit.voltage, fit.residual)


def _table(title: str, lines: list[Line]) -> str:
    if not lines:
        return ""
    rows = "".join(
        f"<tr><td>{escape(one.name)}</td>"
        f"<td align='right'>&nbsp;&nbsp;{escape(with_minus(one.value))}</td>"
        f"<td align='right'>&nbsp;&nbsp;{escape(one.spread)}</td></tr>"
        for one in lines
    )
    return f"<p><b>{escape(title)}</b></p><table>{rows}</table>"
