"""What a sweep that ends before the open-circuit voltage still shows: steps that are plain to see.

Voltage, resistance and leaks cannot be told without the end, and a fit makes up for it with any of
them; but where the curve bends the wrong way there is a step, whatever follows.
"""

import math
from dataclasses import replace

from viewer.analysis.prediction.preparation import Prepared
from viewer.analysis.signatures.concavity import feet_of
from viewer.analysis.signatures.signature_reading import SignatureReading
from viewer.analysis.signatures.signature_words import limited_modules
from viewer.analysis.signatures.voltage_reading import UNTOLD_VOLTAGE

NOTHING_TOLD = (
    "No findings: the sweep ends before the open-circuit voltage, so that its shape cannot be told."
)
STEPS_ALONE = (
    "The sweep ends before the open-circuit voltage: only the steps that it shows whole are told."
)
AT_THE_END = 0.02
"""Of Isc: a step so little above the end of the sweep may go on beyond it."""


def steps_seen(one: Prepared, reading: SignatureReading | None) -> SignatureReading | None:
    """The reading with the steps that the sweep shows whole and nothing else; None without any."""
    i_sc = one.measured.values.i_sc
    if reading is None or not math.isfinite(i_sc) or i_sc <= 0.0:
        return None
    if not feet_of(one.swept.voltage, one.swept.current, i_sc):
        return None
    end = float(one.swept.current[-1]) / i_sc + AT_THE_END
    stairs = tuple(step for step in reading.stairs if round(step.current_fraction, 4) >= end)
    if not stairs:
        return None
    signatures = tuple(s for s in reading.of_kind("step") if s.size >= end)
    if not reading.bypassed:  # all of them are one, which spoke of what is not shown as well
        signatures = (limited_modules(stairs, reading.predicted_p_mp),)
    losses = {"step": sum(step.loss for step in stairs)}
    return replace(
        reading, signatures=signatures, stairs=stairs, losses=losses, voltage=UNTOLD_VOLTAGE
    )
