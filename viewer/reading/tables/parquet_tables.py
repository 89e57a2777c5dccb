"""Parquet files to grids of cells; needs the optional package pyarrow."""

import io
from datetime import datetime
from typing import TYPE_CHECKING

from viewer.reading.notation.limits import (
    COLUMN_LIMIT,
    UNPACKED_LIMIT,
    UnreadableFileError,
    check_rows,
)
from viewer.reading.tables.cell_grid import CellGrid, value_grid

if TYPE_CHECKING:
    from pyarrow.parquet import FileMetaData

PARQUET_MARK = b"PAR1"


def read_parquet_grids(data: bytes, source: str) -> list[CellGrid]:
    """The file's table. Raises UnreadableFileError, also when pyarrow is not installed."""
    try:
        import pyarrow.parquet as parquet
    except ImportError:  # an extra of the package, not needed for anything else
        raise UnreadableFileError(
            f"{source} is a Parquet file; reading it needs pyarrow: "
            "pip install 'curvewright[parquet]'."
        ) from None
    try:
        file = parquet.ParquetFile(io.BytesIO(data))
        _check(file.metadata, source)
        table = file.read()
        columns = [column.to_pylist() for column in table.columns]
    except UnreadableFileError:
        raise
    except (OSError, ValueError, RuntimeError, KeyError, NotImplementedError) as error:
        raise UnreadableFileError(
            f"{source} is a damaged Parquet file; export it again."
        ) from error
    rows = [list(map(str, table.column_names))]
    rows += [[_cell(value) for value in row] for row in zip(*columns, strict=True)]
    return [value_grid(enumerate(rows))]


def _check(metadata: "FileMetaData", source: str) -> None:
    rows, columns = metadata.num_rows, metadata.num_columns
    check_rows(rows, source)
    size = sum(metadata.row_group(at).total_byte_size for at in range(metadata.num_row_groups))
    if columns > COLUMN_LIMIT or size > UNPACKED_LIMIT or rows * columns > UNPACKED_LIMIT // 20:
        raise UnreadableFileError(
            f"{source} unpacks to {rows:,} rows of {columns:,} columns, more than is "
            "read; split it."
        )


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.isoformat()
    return repr(value) if isinstance(value, float) else str(value)
