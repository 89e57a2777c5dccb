"""Key points of measured sweeps: bias, coverage of the 95 % interval, and time, beside a peer.

Run: python tests/benchmarks/bench_key_points.py

Truth: pvlib's exact curves with normal noise added, 1,000 draws a line. Peer: pvlib's
`astm_e1036` (ASTM E1036-15), which gives no uncertainty. Bias and root mean square error are in
% of the truth; coverage is the share of draws whose interval of 1.96 standard uncertainties
holds it. The last table has strings with shaded blocks under bypass diodes.
"""

import sys
import time
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from pvlib.ivtools.utils import astm_e1036

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.physics.swept_curves import (
    CRYSTALLINE,
    STRING,
    THIN_FILM,
    Device,
    shaded,
    swept,
)
from viewer.physics.curve_fit.parameter_fit import fit_parameters_of_many
from viewer.physics.measured_sweep.key_points import MeasuredKeyPoints, find_key_points_of_many

Sweep = tuple[NDArray[np.float64], NDArray[np.float64]]
NAMES = ("i_sc", "v_oc", "i_mp", "v_mp", "p_mp", "fill_factor")
PEER = dict(zip(NAMES, ("isc", "voc", "imp", "vmp", "pmp", "ff"), strict=True))
DRAWS = 1000
DEVICES = {"crystalline": CRYSTALLINE, "thin film": THIN_FILM, "string": STRING}
CASES: dict[str, dict[str, object]] = {
    "15 points, 0.1 %": {"points": 15, "noise": 1e-3},
    "41 points, 0.1 %": {"points": 41, "noise": 1e-3},
    "200 points, 0.02 %": {"points": 200, "noise": 2e-4},
    "200 points, 0.1 %": {"points": 200, "noise": 1e-3},
    "200 points, 0.5 %": {"points": 200, "noise": 5e-3},
    "200 points, 0.2 % in I and V": {"points": 200, "noise": 2e-3, "noise_voltage": 2e-3},
    "1000 points, 0.1 %": {"points": 1000, "noise": 1e-3},
    "from 0.15 Voc, 0.1 %": {"points": 200, "noise": 1e-3, "span": (0.15, 1.0)},
    "to 0.96 Voc, 0.1 %": {"points": 200, "noise": 1e-3, "span": (0.0, 0.96)},
    "to 1.03 Voc, 0.1 %": {"points": 200, "noise": 1e-3, "span": (0.0, 1.03)},
}


def main() -> None:
    warnings.simplefilter("ignore")
    for name, device in DEVICES.items():
        for case, options in CASES.items():
            accuracy(f"{name}, {case}", device, options)
    stepped()
    times()


def accuracy(title: str, device: Device, options: dict[str, object]) -> None:
    sweeps = [swept(device, **options, seed=seed) for seed in range(DRAWS)]  # type: ignore[arg-type]
    found = find_key_points_of_many(sweeps)
    truth = device.key_points()
    peer = [peer_points(sweep) for sweep in sweeps]
    print(f"\n{title}")
    print(
        f"{'':14}{'bias %':>10}{'rms %':>10}{'coverage':>10}{'astm bias %':>14}{'astm rms %':>12}"
    )
    for name in NAMES:
        error, held = own_errors(found, name, truth[name])
        other = np.array([one[name] for one in peer]) / truth[name] - 1.0
        print(
            f"{name:14}{100 * np.mean(error):10.4f}{100 * rms(error):10.4f}{np.mean(held):10.3f}"
            f"{100 * np.nanmean(other):14.4f}{100 * rms(other):12.4f}"
        )


def own_errors(
    found: list[MeasuredKeyPoints], name: str, truth: float
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    value = np.array([getattr(one.values, name) for one in found])
    spread = np.array([getattr(one.standard_uncertainty, name) for one in found])
    return value / truth - 1.0, np.abs(value - truth) <= 1.96 * spread


def peer_points(sweep: Sweep) -> dict[str, float]:
    try:
        found = astm_e1036(*sweep)
    except (ValueError, np.linalg.LinAlgError):
        return dict.fromkeys(NAMES, np.nan)
    return {name: float(found[PEER[name]]) for name in NAMES}


def rms(error: NDArray[np.float64]) -> float:
    return float(np.sqrt(np.nanmean(error**2)))


def stepped() -> None:
    """Shares of shaded cells and their light drawn at random; errors in % of the truth."""
    random = np.random.default_rng(5)
    print("\nstring with a shaded block, 0.05 % noise, 100 draws a line: errors in %")
    print(f"{'':14}{'':6}{'median':>10}{'95 %':>10}{'astm median':>14}{'astm 95 %':>12}")
    for points in (60, 200, 1000):
        cases = [
            shaded(STRING, random.uniform(0.03, 0.7), random.uniform(0.3, 0.92), points, seed=k)
            for k in range(100)
        ]
        found = find_key_points_of_many([(v, i) for v, i, _, _ in cases])
        for name in ("i_sc", "v_oc", "p_mp"):
            truth = np.array([exact(name, fine, current) for _, _, fine, current in cases])
            own = np.abs([getattr(one.values, name) for one in found] / truth - 1.0)
            peer = np.array([peer_points((v, i))[name] for v, i, _, _ in cases])
            other = np.abs(peer / truth - 1.0)
            line = [100 * np.nanquantile(x, q) for x in (own, other) for q in (0.5, 0.95)]
            print(
                f"{points:6d} points  {name:6}{line[0]:10.4f}{line[1]:10.4f}"
                f"{line[2]:14.4f}{line[3]:12.4f}"
            )


def exact(name: str, fine: NDArray[np.float64], current: NDArray[np.float64]) -> float:
    if name == "i_sc":
        return float(np.interp(0.0, fine, current))
    if name == "v_oc":
        return float(np.interp(0.0, -current, fine))
    return float((fine * current).max())


def times() -> None:
    plain = [swept(CRYSTALLINE, 200, 1e-3, seed=seed) for seed in range(1000)]
    steps = [shaded(STRING, 0.2 + 0.002 * k, 0.6)[:2] for k in range(200)]
    print("\nprocessor ms a trace of 200 points (best of three)")
    for name, way, sweeps in (
        ("key points and slopes, 1,000 plain sweeps", find_key_points_of_many, plain),
        ("key points and slopes, 200 stepped sweeps", find_key_points_of_many, steps),
        ("key points and slopes, one sweep alone", find_key_points_of_many, plain[:1]),
        ("five parameters, 1,000 plain sweeps", fit_parameters_of_many, plain),
        ("five parameters, one sweep alone", fit_parameters_of_many, plain[:1]),
        ("astm_e1036 (six values, no uncertainty)", each_by_peer, plain),
    ):
        print(f"{name:46}{best_time(way, sweeps):10.3f}")


def each_by_peer(sweeps: list[Sweep]) -> list[dict[str, float]]:
    return [peer_points(sweep) for sweep in sweeps]


def best_time(way: Callable[[list[Sweep]], object], sweeps: list[Sweep]) -> float:
    way(sweeps)
    spent = []
    for _ in range(3):
        start = time.process_time()
        way(sweeps)
        spent.append(time.process_time() - start)
    return min(spent) / len(sweeps) * 1e3


if __name__ == "__main__":
    main()
