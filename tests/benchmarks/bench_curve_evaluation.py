"""Time a point of curve evaluation in bulk, ours beside pvlib's, and the largest difference.

Run: python tests/benchmarks/bench_curve_evaluation.py

5,000 strings of 20 modules, 200 points each, best of five. "parametric" evaluates given diode
voltages; "whole curves" also finds both ends of each curve first. pvlib works on the same points.
"""

import time
from collections.abc import Callable

import numpy as np
from pvlib.pvsystem import i_from_v
from pvlib.singlediode import bishop88

from viewer.physics.single_diode import (
    DiodeParameters,
    current_at,
    curve,
    exact_key_points,
    from_diode_voltage,
    voltage_at,
)

CURVES, POINTS, REPEATS = 5000, 200, 5


def strings() -> DiodeParameters:
    draw = np.random.default_rng(20)
    return DiodeParameters.of(
        draw.uniform(3.0, 15.0, CURVES),
        10.0 ** draw.uniform(-11.0, -9.0, CURVES),
        draw.uniform(0.1, 0.5, CURVES),
        10.0 ** draw.uniform(2.0, 3.5, CURVES),
        draw.uniform(1.5, 2.1, CURVES),
    ).in_series(20)


def best_ns(action: Callable[[], object], points: int, repeats: int = REPEATS) -> float:
    times = []
    for _ in range(repeats):
        began = time.perf_counter()
        action()
        times.append(time.perf_counter() - began)
    return 1e9 * min(times) / points


def main() -> None:
    devices = strings()
    columns = [p[:, None] for p in devices.as_tuple()]
    spread = DiodeParameters(*columns)
    voltage, current = curve(devices, POINTS)
    diode_voltage = voltage + current * columns[2]
    points = voltage.size
    few = 100
    for name, action, count, repeats in (
        ("ours, parametric", lambda: from_diode_voltage(devices, diode_voltage), points, 5),
        ("ours, whole curves", lambda: curve(devices, POINTS), points, 5),
        ("ours, current_at", lambda: current_at(spread, voltage), points, 2),
        ("ours, voltage_at", lambda: voltage_at(spread, current), points, 2),
        ("pvlib bishop88", lambda: bishop88(diode_voltage, *columns), points, 5),
        ("pvlib lambertw", lambda: i_from_v(voltage, *columns), points, 2),
        (
            "pvlib newton",
            lambda: i_from_v(voltage[:few], *(c[:few] for c in columns), method="newton"),
            few * POINTS,
            2,
        ),
    ):
        print(f"{name:22s}{best_ns(action, count, repeats):9.2f} ns a point")
    seconds = best_ns(lambda: exact_key_points(devices), CURVES) / 1e3
    print(f"{'ours, key points':22s}{seconds:9.2f} µs a device")
    against = bishop88(diode_voltage, *columns)[0]
    lambertw = i_from_v(voltage, *columns)
    for name, other in (("bishop88", against), ("lambertw", lambertw)):
        miss = np.max(np.abs(current - other) / columns[0])
        print(f"largest difference from {name}, relative to the photocurrent: {miss:.1e}")


if __name__ == "__main__":
    main()
