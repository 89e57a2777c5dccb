"""Many datasheets as columns of numbers, contradictory ones blanked out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.datasheet.cell_count import likely_cells
from viewer.physics.datasheet.datasheet_checks import DatasheetNumbers, contradictions, doubts
from viewer.physics.datasheet.module_model import BOLTZMANN, T_REF
from viewer.physics.datasheet.stc_solution import StcPoints
from viewer.physics.datasheet.technology import Technology, technologies

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class DatasheetColumns:
    """Columns of shape (modules,); NaN where the datasheet contradicts itself.

    points at STC; alpha_sc [A/K], beta_voc [V/K], gamma_pmp [1/K]; cells_in_series as they
    must be, whatever was printed; the technology of each; sentences on what is wrong
    (`problems`) and what was assumed (`remarks`).
    """

    points: StcPoints
    alpha_sc: Array
    beta_voc: Array
    gamma_pmp: Array
    cells_in_series: Array
    technology: tuple[Technology, ...]
    problems: tuple[tuple[str, ...], ...]
    remarks: tuple[tuple[str, ...], ...]

    def chosen(self, index: NDArray[np.intp]) -> "DatasheetColumns":
        """The datasheets of those rows."""
        rows = index.tolist()
        return DatasheetColumns(
            points=self.points[index],
            alpha_sc=self.alpha_sc[index],
            beta_voc=self.beta_voc[index],
            gamma_pmp=self.gamma_pmp[index],
            cells_in_series=self.cells_in_series[index],
            technology=tuple(self.technology[row] for row in rows),
            problems=tuple(self.problems[row] for row in rows),
            remarks=tuple(self.remarks[row] for row in rows),
        )

    def of_technology(self, field: str) -> Array:
        """A number of each module's technology, such as its `band_gap`."""
        return np.array([float(getattr(kind, field)) for kind in self.technology])

    @property
    def thermal_scale(self) -> Array:
        """cells_in_series k T / q at reference temperature, V."""
        return BOLTZMANN * T_REF * self.cells_in_series

    @property
    def junctions(self) -> Array:
        """Junctions in one cell: more than one only in thin film."""
        per_cell = (self.points.v_oc / self.cells_in_series).tolist()
        pairs = zip(self.technology, per_cell, strict=True)
        return np.array([kind.junctions(voltage) for kind, voltage in pairs])

    @property
    def preferred_scale(self) -> Array:
        """nNsVth [V] with the diode factor the technology is expected to have."""
        return self.of_technology("diode_factor") * self.junctions * self.thermal_scale


def read_columns(
    i_sc: ArrayLike,
    v_oc: ArrayLike,
    i_mp: ArrayLike,
    v_mp: ArrayLike,
    alpha_sc: ArrayLike,
    beta_voc: ArrayLike,
    gamma_pmp: ArrayLike,
    cells_in_series: ArrayLike,
    technology: ArrayLike,
) -> DatasheetColumns:
    """Checked columns; raises ValueError for an unknown technology."""
    given = (i_sc, v_oc, i_mp, v_mp, alpha_sc, beta_voc, gamma_pmp, cells_in_series)
    *numbers, names = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(x, dtype=float)) for x in given), np.atleast_1d(technology)
    )
    kinds = technologies(names)
    rows = [
        DatasheetNumbers(kind, *row)
        for kind, *row in zip(kinds, *(column.tolist() for column in numbers), strict=True)
    ]
    problems = tuple(contradictions(row) for row in rows)
    good = np.array([not sentences for sentences in problems], dtype=bool)
    cells = np.array(
        [
            likely_cells(row.cells_in_series, row.v_oc, row.technology) if fine else np.nan
            for row, fine in zip(rows, good, strict=True)
        ],
        dtype=float,
    )
    columns = [np.where(good, column, np.nan) for column in numbers]
    remarks = tuple(
        doubts(row, cell) if fine else () for row, cell, fine in zip(rows, cells, good, strict=True)
    )
    return DatasheetColumns(
        points=StcPoints(*columns[:4]),
        alpha_sc=columns[4],
        beta_voc=columns[5],
        gamma_pmp=columns[6],
        cells_in_series=cells,
        technology=kinds,
        problems=problems,
        remarks=remarks,
    )
