"""A module's measured or printed values at other conditions than STC.

An irradiance-temperature matrix of IEC 61853-1, an NMOT row or a low-irradiance row: any of
them lets the model be fitted better than the STC row and the coefficients alone do.
"""

from typing import NamedTuple

from viewer.physics.nomenclature import quantity
from viewer.site_data.toml_table import Table

VALUES: tuple[str, ...] = ("p_mp", "i_sc", "v_oc", "i_mp", "v_mp")


class MatrixRow(NamedTuple):
    """One row; irradiance [W/m²], cell temperature [°C], None where nothing is known."""

    poa_global: float
    temperature_cell: float
    p_mp: float | None = None
    i_sc: float | None = None
    v_oc: float | None = None
    i_mp: float | None = None
    v_mp: float | None = None


def read_matrix(module: Table, key: str) -> tuple[MatrixRow, ...]:
    """The rows under `key` of a module's table; a wrong row is left out with its sentence."""
    read = (
        _row(
            Table(data, (*module.place, key, number), f"row {number + 1} of {key}", module.findings)
        )
        for number, data in enumerate(module.rows(key))
    )
    return tuple(row for row in read if row is not None)


def _row(table: Table) -> MatrixRow | None:
    table.check_keys(MatrixRow._fields)
    poa = table.number("poa_global", quantity("poa_global").unit)
    cell = table.number("temperature_cell", quantity("temperature_cell").unit)
    table.within("poa_global", 20, 1600)
    table.within("temperature_cell", -40, 100)
    values = {
        name: table.number(name, quantity(name).unit) if name in table else None for name in VALUES
    }
    if table.complete and not any(values.values()):
        table.findings.problem(
            table.place, f"{table.what} gives no value; add one of {', '.join(VALUES)}."
        )
        return None
    return MatrixRow(poa, cell, **values) if table.complete else None


def matrix_data(rows: tuple[MatrixRow, ...]) -> list[dict[str, float]]:
    """The rows as site.toml holds them."""
    return [
        {name: value for name, value in row._asdict().items() if value is not None} for row in rows
    ]
