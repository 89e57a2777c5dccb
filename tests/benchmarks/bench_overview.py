"""The site overview with 20,000 strings: filling the grid, a frame while zooming, the costs.

Run with `python tests/benchmarks/bench_overview.py`; it draws off screen. The peer is the same
grid as a QTableView that paints cell by cell, as the heat-grid of one combiner does.
"""

import os
import time
from dataclasses import replace
from statistics import median

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PySide6.QtCore import QAbstractTableModel, QModelIndex, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QApplication, QTableView

from tests.invented_results import InventedOpener, invented_layout, invented_result
from viewer.site_data.site_layout import Location
from viewer.state.losses.cost_terms import year_for
from viewer.state.losses.overview_grid import overview_grid
from viewer.state.losses.site_losses import losses_of, terms_of
from viewer.state.session import Arrival, Session
from viewer.widgets.controls.theme import LIGHT
from viewer.widgets.strings.overview_canvas import OverviewCanvas, cell_colours

COMBINERS, STRINGS = 1000, 20
FRAMES = 60
NOWHERE = QModelIndex()


class CellTable(QAbstractTableModel):
    """The peer: one brush and one text a cell."""

    def __init__(self, grid) -> None:
        super().__init__()
        self._grid, self._rgba = grid, cell_colours(grid, LIGHT)

    def rowCount(self, parent=NOWHERE) -> int:
        return 0 if parent.isValid() else self._grid.shape[0]

    def columnCount(self, parent=NOWHERE) -> int:
        return 0 if parent.isValid() else self._grid.shape[1]

    def data(self, index, role=Qt.ItemDataRole.DisplayRole):
        if role == Qt.ItemDataRole.BackgroundRole:
            return QColor(*self._rgba[index.row(), index.column()].tolist())
        if role == Qt.ItemDataRole.DisplayRole:
            return self._grid.text(index.row(), index.column())
        return None


def big_session() -> Session:
    rng = np.random.default_rng(5)
    base = invented_result("C1", "S1", loss=0.02, cause="soiling")
    results = []
    for box in range(COMBINERS):
        for one in range(STRINGS):
            trace = replace(
                base.trace,
                source=f"{box}/{one}.csv",
                combiner=f"C{box + 1}",
                string=f"S{one + 1}",
            )
            ratio = 1.0 - abs(rng.normal(0.0, 0.03))
            results.append(replace(base, trace=trace, power_ratio=ratio))
    layout = replace(invented_layout(COMBINERS, STRINGS), location=Location(40.0, -3.0))
    session = Session(InventedOpener(results, layout))
    session.take([Arrival(layout=layout, results=tuple(results))])
    return session


def timed(act, times: int = 1) -> float:
    """Milliseconds, the median of some runs."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        act()
        taken.append(1000 * (time.perf_counter() - start))
    return median(taken)


def main() -> None:
    application = QApplication([])
    session = big_session()
    print(f"{COMBINERS * STRINGS} strings, times in ms")
    print(
        f"grid of a quantity       {timed(lambda: overview_grid(session, 'power_ratio'), 5):8.1f}"
    )
    grid = overview_grid(session, "power_ratio")
    canvas = OverviewCanvas()
    canvas.set_theme(LIGHT)
    canvas.resize(1200, 800)
    canvas.show()
    print(f"shown for the first time {timed(lambda: canvas.show_grid(grid)):8.1f}")
    view = canvas.getPlotItem().vb

    def frames(rows: float) -> float:
        places = iter(np.linspace(0, COMBINERS - rows, FRAMES).tolist())

        def frame() -> None:
            top = next(places)
            view.setRange(yRange=(top, top + rows), padding=0)
            application.processEvents()
            canvas.grab()

        return timed(frame, FRAMES)

    for rows in (1000, 200, 50, 20):
        print(f"a frame, {rows:4d} rows in sight {frames(rows):6.1f}")
    table = QTableView()
    table.setModel(CellTable(grid))
    table.resize(1200, 800)
    table.show()
    places = iter(range(0, COMBINERS, COMBINERS // FRAMES))

    def table_frame() -> None:
        table.scrollTo(table.model().index(next(places), 0))
        application.processEvents()
        table.grab()

    print(f"a frame of the peer, a table with about 25 rows in sight {timed(table_frame, 50):6.1f}")
    terms = terms_of(session)
    year = year_for(session.layout, terms)
    cost = timed(lambda: losses_of(session.results, session.layout, year, terms))
    print(f"costs of all strings     {cost:8.1f}")


if __name__ == "__main__":
    main()
