"""Stairs of a sweep that has no prediction, read from its shape alone.

Without conditions nothing can be said of current or voltage, but a sound sweep is concave from
end to end and a stair is not: where limited groups begin to conduct again the curve stops
falling. The deepest point below the concave hull is the foot of a stair; the sweep beyond the
foot is looked through again for the next one. How many groups a stair holds is then read by a
fit of a plausible single-diode string through the sweep's own ends; where that fit sees no stair
(a sweep in little light), the widths of the plateaus must do.
"""

import math
from dataclasses import replace

import numpy as np

from viewer.analysis.signatures.concavity import Foot, feet_of
from viewer.analysis.signatures.signature_reading import (
    InputUncertainty,
    SignatureReading,
    StairReading,
)
from viewer.analysis.signatures.signature_words import (
    limited_modules,
    rounded_knee_by_shape,
    step_by_shape,
)
from viewer.analysis.signatures.signatures import SweepToRead, read_signatures, too_short
from viewer.analysis.signatures.voltage_reading import UNTOLD_VOLTAGE
from viewer.analysis.string_fit.lone_readings import lone_readings
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.single_diode import Array, DiodeParameters

RISING = (
    "The current rises with voltage: the light grew during the sweep. Repeat it; its shape tells "
    "nothing."
)
VOLTAGE_OF_GROUP = 12.5
"""Open-circuit voltage of one bypass group of 20 cells, V, where their number is not known."""
RISE = 0.02
"""A current that grows by more than this from short circuit on was measured in growing light."""
BYPASS_DROP = 0.5
THERMAL_SHARE = 0.048
"""Thermal voltage times diode factor over open-circuit voltage of silicon cells in the sun."""
PLAUSIBLE_ONLY = InputUncertainty(series=0.03, leak=0.02, prediction_voltage=0.01)
"""A plausible device is no prediction: its resistances may be off by a good part of themselves."""
SERIES_SHARE = 0.06
LEAK_SHARE = 0.004
"""Series resistance in units of v_oc / i_sc and shunt conductance in i_sc / v_oc (typical)."""


def read_without_prediction(
    voltage: Array,
    current: Array,
    key_points: KeyPoints,
    bypass_groups: int | None = None,
    bypass_diodes: int = 3,
    parallel_paths: int = 1,
) -> SignatureReading:
    """Stairs of a clean sweep (voltage [V] rising, current [A]); nothing that needs a prediction.

    `bypass_groups` of the string; guessed from its voltage where None, which the remarks say.
    What it cannot tell is NaN in the reading. Raises ValueError for a sweep of fewer than 8 points
    or without short-circuit current or open-circuit voltage.
    """
    if short := too_short(voltage.size):
        raise ValueError(short)
    i_sc, v_oc = key_points.i_sc, key_points.v_oc
    if not (np.isfinite(i_sc) and np.isfinite(v_oc) and i_sc > 0.0 and v_oc > 0.0):
        raise ValueError("The sweep has no short-circuit current or no open-circuit voltage.")
    groups = max(1, round(v_oc / VOLTAGE_OF_GROUP)) if bypass_groups is None else bypass_groups
    kept = ~lone_readings(current)
    voltage, current = voltage[kept], current[kept]
    rises = float(np.max(current)) > (1.0 + RISE) * i_sc
    feet = [] if rises else feet_of(voltage, current, i_sc)
    stairs: tuple[StairReading, ...] = ()
    spread = 0.0
    if feet:
        of_module = bypass_diodes, parallel_paths
        stairs, spread = _fitted(voltage, current, key_points, groups, *of_module)
    if feet and not stairs and not spread:
        stairs = _by_width(feet, voltage, current, i_sc, groups)
    signatures = [
        step_by_shape(s.current_fraction, s.voltage_span, s.bypass_groups) for s in stairs
    ]
    if stairs and bypass_diodes == 0:
        signatures = [limited_modules(stairs, math.nan, by_shape=True)]
    if spread:
        signatures.append(rounded_knee_by_shape(spread))
    remarks = [RISING] if rises else []
    if stairs and bypass_groups is None:
        remarks.append(
            f"The number of bypass groups is not known; {groups} were taken, from the voltage."
        )
    return SignatureReading(
        signatures=tuple(signatures),
        bypass_groups=groups,
        current_scale=math.nan,
        current_uncertainty=math.inf,
        voltage=UNTOLD_VOLTAGE,
        current_spread=spread,
        stairs=stairs,
        losses={},
        p_mp=key_points.p_mp,
        predicted_p_mp=math.nan,
        roughness=math.nan,
        bypass_diodes=max(bypass_diodes, 1),
        bypassed=bypass_diodes > 0,
        remarks=tuple(remarks),
    )


def _by_width(
    feet: list[Foot], voltage: Array, current: Array, i_sc: float, groups: int
) -> tuple[StairReading, ...]:
    """Stairs from the last to the first foot: what each takes from the voltage below it."""
    stairs: list[StairReading] = []
    above: list[Foot | None] = [*feet[1:], None][: len(feet)]
    for foot, following in zip(feet, above, strict=True):
        level = foot.current if following is None else following.current
        end = following.before if following else _voltage_at(voltage, current, 0.9 * level)
        span = end - foot.before
        full = _voltage_at(voltage, current, 0.9 * feet[-1].current)
        share = span / (full + BYPASS_DROP * groups)
        count = max(1, round(share * groups))
        stairs.append(StairReading(count, foot.current / i_sc, span, 1.0, 0.0))
    return tuple(sorted(stairs, key=lambda s: s.current_fraction))


def _voltage_at(voltage: Array, current: Array, level: float) -> float:
    """The highest voltage at which the current is still `level`."""
    place = int(np.flatnonzero(current >= level)[-1])
    return float(voltage[place])


def _fitted(
    voltage: Array,
    current: Array,
    key_points: KeyPoints,
    groups: int,
    bypass_diodes: int,
    parallel_paths: int,
) -> tuple[tuple[StairReading, ...], float]:
    """Stairs, or the spread of the currents, against a plausible string through the own ends."""
    (reading,) = read_signatures(
        [
            SweepToRead(
                voltage,
                current,
                key_points,
                _like(key_points),
                groups,
                bypass_diodes=bypass_diodes,
                parallel_paths=parallel_paths,
                predicted_p_mp=key_points.p_mp,
                uncertainty=PLAUSIBLE_ONLY,
            )
        ]
    )
    return tuple(replace(one, loss=0.0) for one in reading.stairs), reading.current_spread


def _like(key_points: KeyPoints) -> DiodeParameters:
    """A plausible device through the sweep's short-circuit current and open-circuit voltage."""
    i_sc, v_oc = key_points.i_sc, key_points.v_oc
    thermal = THERMAL_SHARE * v_oc
    saturation = i_sc * (1.0 - LEAK_SHARE) / np.expm1(v_oc / thermal)
    return DiodeParameters.of(
        i_sc, saturation, SERIES_SHARE * v_oc / i_sc, v_oc / (i_sc * LEAK_SHARE), thermal
    )
