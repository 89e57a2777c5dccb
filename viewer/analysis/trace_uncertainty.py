"""How well a trace's results are known, as frozen data."""

from dataclasses import dataclass

from viewer.physics.key_points import KeyPoints


@dataclass(frozen=True)
class BudgetLine:
    """One input's part in the power ratio's uncertainty."""

    input: str
    """One of `physics.uncertainty.INPUT_NAMES`, or "reading" for the scatter of the points."""
    relative: float
    """Contribution to the ratio's relative standard uncertainty (k = 1), as a fraction."""
    share: float
    """Of the variance, 0..1; the shares of all lines add up to one."""


@dataclass(frozen=True)
class TraceUncertainty:
    """Expanded uncertainties (k = 2) in the key points' own units; None where not predicted."""

    measured: KeyPoints
    predicted: KeyPoints | None = None
    translated: KeyPoints | None = None
    power_ratio: float | None = None
    budget: tuple[BudgetLine, ...] = ()
    """Of the power ratio, the largest part first."""
