"""What is known beside a curve when its causes are ranked."""

from dataclasses import dataclass

from viewer.analysis.causes.neighbours import NeighbourEvidence
from viewer.analysis.causes.open_strings import OpenStrings


@dataclass(frozen=True)
class CauseContext:
    """Evidence beside the curve; None where there is none.

    neighbours: what the combiner's other strings show. note: the text in the file. same_stairs:
    whether another trace of the string, at another hour of the day, shows the same stairs (True) or
    not (False). irradiance_unsteady: whether the irradiance moved during the sweep. curve_decides:
    which of poa_global and temperature_cell were not read, so that the curve itself stands in.
    rear_unknown: whether the module is bifacial and its rear irradiance was not recorded.
    open_strings: those of several traced as one whose share of the current is missing.
    """

    neighbours: NeighbourEvidence | None = None
    note: str | None = None
    same_stairs: bool | None = None
    irradiance_unsteady: bool = False
    curve_decides: tuple[str, ...] = ()
    rear_unknown: bool = False
    open_strings: OpenStrings | None = None
