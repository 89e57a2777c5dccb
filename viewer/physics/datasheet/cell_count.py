"""How many cells in series a module must have, judged by its open-circuit voltage.

Lists and datasheets often give all cells of a half-cut or shingled module although only a half
or a quarter of them are in series; the diode factor is meaningless with the wrong number.
"""

from viewer.physics.datasheet.technology import Technology

USUAL_MULTIPLES: tuple[float, ...] = (1.0, 2.0, 3.0, 4.0, 6.0, 0.5)
"""Printed over real number in series: half-cut 2, third-cut 3, shingled more, paths doubled."""

MISCOUNTED_BY = 1.5
"""A voltage per cell further outside the range than this factor is not a miscount of cells."""


def likely_cells(cells: float, v_oc: float, technology: Technology) -> float | None:
    """The number of cells that gives a possible voltage per cell, or None.

    `cells` itself, or that over a usual multiple, or else the number for a voltage in the middle
    of the range when `cells` is not far from it. None: `cells`, `v_oc` [V] or the
    technology is wrong.
    """
    low, high = technology.voltage_per_cell
    for multiple in USUAL_MULTIPLES:
        if low <= v_oc * multiple / cells <= high:
            return cells / multiple
    if low / MISCOUNTED_BY <= v_oc / cells <= high * MISCOUNTED_BY:
        return float(round(2.0 * v_oc / (low + high)))
    return None
