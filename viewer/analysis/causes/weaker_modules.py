"""Whether a stair stands for whole modules of lower current rather than for a shade.

Modules of another class, age or soiling among the rest make one clean stair: whole modules, all
their cells alike, and not far below the others. A shade seldom ends at module frames, seldom
leaves so much light, and seldom limits all cells of a group alike. The odds are judgement.
"""

from viewer.analysis.signatures.signature_reading import SignatureReading
from viewer.analysis.signatures.weaker_class import FEWEST_MODULES, LEAST_CLASS

COUNTED_EXACTLY = 16
"""Groups up to so many are counted exactly; of more, one more or less is as likely."""
ALIKE = 0.6
"""Share of limited cells from which all of them are."""
RARER_THAN_SHADE = 0.35
ODDS_OF_LEVEL, ODDS_OF_WHOLE_MODULES, ODDS_OF_ALIKE = 6.0, 3.0, 1.5
"""Shades leave any light, end at any group (at a module's frame in one of three), and take all
cells of a group in about two of three. Shades are commoner than weaker modules."""

WEAKER_MODULES = (
    "Whole modules are limited, all their cells alike and not far below the others: modules of a "
    "lower class, of another age or dirtier than the rest."
)
SHADE_OF_WHOLE_MODULES = (
    "A thin shade that covers just these modules looks the same at one time of day."
)


def whole_modules_share(reading: SignatureReading) -> float:
    """Probability (0..1) that the only stair stands for weaker modules; 0 where it cannot."""
    if len(reading.stairs) != 1 or not reading.bypassed:
        return 0.0
    stair = reading.stairs[0]
    fewest = FEWEST_MODULES * reading.bypass_diodes
    deep, few_cells = stair.current_fraction < LEAST_CLASS, stair.limited_cells < ALIKE
    if deep or few_cells or stair.bypass_groups < fewest:
        return 0.0
    odds = RARER_THAN_SHADE * ODDS_OF_LEVEL * ODDS_OF_ALIKE
    if stair.bypass_groups <= COUNTED_EXACTLY:
        if stair.bypass_groups % reading.bypass_diodes:
            return 0.0
        odds *= ODDS_OF_WHOLE_MODULES
    return odds / (1.0 + odds)
