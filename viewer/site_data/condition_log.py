"""Irradiance, temperatures and wind as logged through a day, apart from the traces."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, eq=False)
class ConditionLog:
    """Readings in order of time.

    times [s], shape (n,): since 1970 in UTC if `zoned`, else what the log's clock showed,
    counted as if it were UTC. values: by the names of `MeasuredConditions`, in their units,
    shape (n,), NaN for gaps.
    """

    source: str
    times: NDArray[np.float64]
    zoned: bool
    values: dict[str, NDArray[np.float64]]
    remarks: tuple[str, ...] = field(default=())
