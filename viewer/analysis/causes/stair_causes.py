"""What stairs point to: a shade, a faulty cell, or whole modules weaker than the rest."""

from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.cause_ledger import Ledger
from viewer.analysis.causes.cause_words import UNDECIDED_SHADE_OR_CELL
from viewer.analysis.causes.field_notes import CELL_FAULT, SHADE, said_of
from viewer.analysis.causes.weaker_modules import (
    SHADE_OF_WHOLE_MODULES,
    WEAKER_MODULES,
    whole_modules_share,
)
from viewer.analysis.signatures.signature_reading import SignatureReading

STAIRS_EXPLAINED = 0.94
"""The shares of a shade, a faulty cell and weaker modules together."""
NOTE_SPEAKS, SAME_STAIR_SPEAKS, OTHER_STAIR_SPEAKS, ROW_SPEAKS = 6.0, 6.0, 10.0, 4.0
"""By what factor the odds between a shade and a faulty cell change with a note of either, with
another trace of the day that shows the same stair or does not, and with stairs of many neighbours
(judgement)."""
SAME_STAIR = "A trace at another hour of the day shows the same step; a shade moves."
OTHER_STAIR = "A trace at another hour of the day does not show the same step; a fault stays."
MENDED_BETWEEN = "What was mended between the two traces would change the step as well."


def from_stairs(ledger: Ledger, reading: SignatureReading, known: CauseContext) -> None:
    """What the stairs of a curve, all together, point to."""
    stairs = reading.stairs
    counted = reading.bypassed  # without bypass diodes they cannot be
    groups = sum(stair.bypass_groups for stair in stairs) if counted else 0
    loss = sum(stair.loss for stair in stairs)
    evidence = " ".join(s.text for s in reading.of_kind("step"))
    shading = _moved_by_context(ledger, _shading_share(reading, groups), known)
    moves = known.same_stairs is False or bool(said_of(known.note, SHADE))
    unequal = 0.0 if moves else whole_modules_share(reading)
    limited = STAIRS_EXPLAINED * (1.0 - unequal)
    ledger.add("shading", limited * shading, evidence, loss)
    ledger.add("cell_fault", limited * (1.0 - shading), evidence, loss)
    if len(stairs) == 1 and groups >= 2 and stairs[0].current_fraction > 0.6:
        ledger.add("soiling", 0.05, "A band of dirt limits groups as a shade does.", loss)
    if unequal > 0.0:
        why = f"{evidence} {WEAKER_MODULES}"
        ledger.add("module_mismatch", STAIRS_EXPLAINED * unequal, why, loss)
        ledger.oppose("module_mismatch", SHADE_OF_WHOLE_MODULES)
    elif groups >= 3 and reading.bypass_groups >= 9:
        ledger.add("module_mismatch", 0.04, "Modules of lower current make steps too.", loss)
    row = known.neighbours is not None and known.neighbours.many_have_steps
    if known.same_stairs is None and not row:
        for cause in ("shading", "cell_fault"):
            ledger.oppose(cause, UNDECIDED_SHADE_OR_CELL)


def _shading_share(reading: SignatureReading, groups: int) -> float:
    """How far stairs speak for a shade rather than for a faulty cell, from the curve alone."""
    stairs = reading.stairs
    if groups == 0:
        return 0.58
    if groups >= 4:
        return 0.93
    if len(stairs) >= 2 or groups >= 2:
        return 0.80
    only = stairs[0]
    single_cell = only.limited_cells < 0.35
    if single_cell or only.current_fraction < 0.05:
        return 0.46
    return 0.58


def _moved_by_context(ledger: Ledger, shading: float, known: CauseContext) -> float:
    odds = shading / (1.0 - shading)
    if shade := said_of(known.note, SHADE):
        odds *= NOTE_SPEAKS
        ledger.oppose("cell_fault", f'The note speaks of something that shades: "{shade}".')
    if cell := said_of(known.note, CELL_FAULT):
        odds /= NOTE_SPEAKS
        ledger.oppose("shading", f'The note speaks of a visible cell fault: "{cell}".')
    if known.same_stairs is True:
        odds /= SAME_STAIR_SPEAKS
        ledger.oppose("shading", SAME_STAIR)
    if known.same_stairs is False:
        odds *= OTHER_STAIR_SPEAKS
        ledger.oppose("cell_fault", OTHER_STAIR)
        ledger.oppose("shading", MENDED_BETWEEN)
    neighbours = known.neighbours
    if neighbours is not None and neighbours.many_have_steps:
        odds *= ROW_SPEAKS
        ledger.oppose(
            "cell_fault",
            f"{neighbours.strings_with_steps} neighbouring strings show steps as well.",
        )
    return odds / (1.0 + odds)
