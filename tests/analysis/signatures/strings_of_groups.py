"""Sweeps of strings of bypass groups, each with its own share of the current, made by pvlib."""

from collections.abc import Sequence

import numpy as np
from pvlib.pvsystem import v_from_i

from viewer.analysis.signatures.signature_reading import SignatureReading
from viewer.analysis.signatures.signatures import SweepToRead, read_signatures
from viewer.physics.measured_sweep.key_points import find_key_points
from viewer.physics.single_diode import DiodeParameters

BYPASS_DROP = 0.5


def sweep(
    string: tuple[float, ...],
    levels: Sequence[float],
    noise: tuple[float, float],
    seed: int,
    share_of_v_oc: float = 1.0,
    points: int = 256,
) -> tuple[np.ndarray, np.ndarray]:
    """Voltage [V], rising, and current [A].

    `string` holds the five parameters of the whole sound string, `levels` the share of its
    photocurrent for each group, `noise` the standard deviations of current and voltage as shares
    of photocurrent and Voc.
    """
    photocurrent, groups = string[0], len(levels)
    one = (string[1], *(value / groups for value in string[2:]))
    current = np.linspace(-0.2 * photocurrent, photocurrent, 4001)
    voltage = np.zeros_like(current)
    for level in sorted(set(levels)):
        own = np.nan_to_num(v_from_i(current, photocurrent * level, *one), nan=-BYPASS_DROP)
        voltage += levels.count(level) * np.maximum(own, -BYPASS_DROP)
    v_oc = float(np.interp(0.0, current, voltage))
    rng = np.random.default_rng(seed)
    v = np.linspace(0.0, share_of_v_oc * v_oc, points)
    i = np.interp(v, voltage[::-1], current[::-1])
    i += noise[0] * photocurrent * rng.standard_normal(points)
    v += noise[1] * v_oc * rng.standard_normal(points)
    order = np.argsort(v)
    return v[order], i[order]


def read(
    string: tuple[float, ...],
    voltage: np.ndarray,
    current: np.ndarray,
    groups: int,
    parallel_paths: int = 1,
) -> SignatureReading:
    points = find_key_points(voltage, current).values
    predicted = DiodeParameters.of(*string)
    given = SweepToRead(voltage, current, points, predicted, groups, 3, parallel_paths)
    return read_signatures([given])[0]
