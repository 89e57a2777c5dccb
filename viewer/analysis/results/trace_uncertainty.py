"""How well a trace's results are known, as frozen data."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from viewer.physics.measured_sweep.key_points import KeyPoints


@dataclass(frozen=True)
class BudgetLine:
    """One input's part in the power ratio's uncertainty."""

    input: str
    """One of `physics.uncertainty.INPUT_NAMES`, or "reading" for the scatter of the points."""
    relative: float
    """Contribution to the ratio's relative standard uncertainty (k = 1), as a fraction."""
    share: float
    """Of the variance, 0..1; the shares of all lines add up to one."""


@dataclass(frozen=True, eq=False)
class TraceUncertainty:
    """Expanded uncertainties (k = 2) in the key points' own units; None where not predicted.

    The budget is kept as numbers, a row of each kind in the order of `budget_inputs`: of tens of
    thousands of traces few are ever asked for their lines.
    """

    measured: KeyPoints
    predicted: KeyPoints | None = None
    translated: KeyPoints | None = None
    power_ratio: float | None = None
    budget_inputs: tuple[str, ...] = ()
    budget_relative: NDArray[np.float64] = field(default_factory=lambda: np.empty(0))
    budget_shares: NDArray[np.float64] = field(default_factory=lambda: np.empty(0))

    @property
    def budget(self) -> tuple[BudgetLine, ...]:
        """Of the power ratio, the largest part first."""
        return tuple(
            BudgetLine(
                self.budget_inputs[k], float(self.budget_relative[k]), float(self.budget_shares[k])
            )
            for k in np.argsort(-self.budget_shares)
        )
