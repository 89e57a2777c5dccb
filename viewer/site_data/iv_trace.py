"""One measured I-V sweep with its conditions and where it came from."""

from dataclasses import dataclass, field
from datetime import datetime

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class MeasuredConditions:
    """What was read beside the sweep; None where nothing was recorded.

    Irradiances [W/m²] in the plane of the array, temperatures [°C], wind speed [m/s].
    """

    poa_global: float | None = None
    poa_global_end: float | None = None
    poa_rear: float | None = None
    temperature_module: float | None = None
    temperature_cell: float | None = None
    temperature_air: float | None = None
    wind_speed: float | None = None
    reference_cell: float | None = None
    """A reference cell's reading [W/m²] not yet corrected for its own temperature."""
    temperature_reference_cell: float | None = None


@dataclass(frozen=True, eq=False)
class Trace:
    """One sweep of one string or module; `voltage` [V] and `current` [A] in measured order."""

    source: str
    """Path relative to the visit folder, with forward slashes."""
    voltage: NDArray[np.float64]
    current: NDArray[np.float64]
    combiner: str | None = None
    string: str | None = None
    measured_at: datetime | None = None
    conditions: MeasuredConditions = field(default_factory=MeasuredConditions)
    module: str | None = None
    """What the file calls its modules; which they are is the site's layout's to say."""
    serial: str | None = None
    note: str | None = None
    sha256: str | None = None
    """Of the imported file's bytes."""
    remarks: tuple[str, ...] = ()
    """What the reader noticed and mended, one sentence each."""

    @property
    def place(self) -> tuple[str, str]:
        """Combiner and string by their names; "" where the file does not tell."""
        return self.combiner or "", self.string or ""


@dataclass(frozen=True)
class Unreadable:
    """A file that gave no trace, and one sentence that says why and how to mend it."""

    source: str
    problem: str


@dataclass(frozen=True)
class NotATrace(Unreadable):
    """A file that may be something else: nothing in it looks like a sweep."""
