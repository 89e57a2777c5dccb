"""Exact single-diode curves and invented sweeps of them, for the tests of measured curves.

The curves come from pvlib (`singlediode`, `i_from_v`), not from the code under test.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from pvlib.pvsystem import i_from_v, singlediode, v_from_i

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Device:
    """Five parameters in A, ohm and V."""

    photocurrent: float
    saturation_current: float
    resistance_series: float
    resistance_shunt: float
    nNsVth: float  # noqa: N815 (pvlib's spelling)

    @property
    def five(self) -> tuple[float, float, float, float, float]:
        return (
            self.photocurrent,
            self.saturation_current,
            self.resistance_series,
            self.resistance_shunt,
            self.nNsVth,
        )

    def current(self, voltage: Array) -> Array:
        return np.asarray(i_from_v(voltage, *self.five))

    def key_points(self) -> dict[str, float]:
        found = singlediode(*self.five)
        points = {name: float(found[name]) for name in ("i_sc", "v_oc", "i_mp", "v_mp", "p_mp")}
        return {**points, "fill_factor": points["p_mp"] / (points["i_sc"] * points["v_oc"])}

    def slope(self, voltage: float) -> float:
        """-dV/dI at a voltage [ohm], from the implicit derivative of the diode equation."""
        current = float(self.current(np.array(voltage)))
        inner = voltage + current * self.resistance_series
        conductance = (
            self.saturation_current / self.nNsVth * np.exp(inner / self.nNsVth)
            + 1.0 / self.resistance_shunt
        )
        return self.resistance_series + 1.0 / conductance


CRYSTALLINE = Device(9.5, 9.5e-10, 0.3, 400.0, 1.9)
THIN_FILM = Device(1.2, 3e-7, 8.0, 900.0, 8.5)
STRING = Device(10.2, 2e-9, 6.0, 6000.0, 36.0)


def swept(
    device: Device,
    points: int = 200,
    noise: float = 0.001,
    noise_voltage: float = 0.0,
    span: tuple[float, float] = (0.0, 1.0),
    seed: int = 1,
) -> tuple[Array, Array]:
    """A sweep over `span` (of Voc) with noise in shares of Isc and of Voc."""
    random = np.random.default_rng(seed)
    voltage, current, i_sc, v_oc = _exact(device, points, span)
    noisy = current + random.normal(0.0, noise, points) * i_sc
    return voltage + random.normal(0.0, noise_voltage, points) * v_oc, noisy


def dense_near_voc(
    device: Device, points: int, noise_voltage: float, seed: int
) -> tuple[Array, Array]:
    """A sweep at falling currents, most of its points near Voc, with noise in shares of Voc."""
    random = np.random.default_rng(seed)
    i_sc, v_oc = (device.key_points()[name] for name in ("i_sc", "v_oc"))
    flat = np.linspace(i_sc, 0.9 * i_sc, points // 4)
    falling = 0.9 * i_sc * np.exp(-np.linspace(0.0, 5.0, points - flat.size - 1))
    current = np.concatenate((flat, falling, [0.0]))
    voltage = np.asarray(v_from_i(current, *device.five))
    noisy = voltage + random.normal(0.0, noise_voltage, points) * v_oc
    return noisy, current + random.normal(0.0, 5e-4, points) * i_sc


@lru_cache(maxsize=64)
def _exact(
    device: Device, points: int, span: tuple[float, float]
) -> tuple[Array, Array, float, float]:
    key = device.key_points()
    voltage = np.linspace(span[0], span[1], points) * key["v_oc"]
    return voltage, device.current(voltage), key["i_sc"], key["v_oc"]


def shaded(
    device: Device,
    share: float,
    light: float,
    points: int = 200,
    noise: float = 0.0005,
    seed: int = 7,
) -> tuple[Array, Array, Array, Array]:
    """A sweep of two series blocks under ideal bypass diodes, `share` of the cells at `light`.

    Returns voltage and current measured, and a fine exact curve (voltage, current).
    """
    random = np.random.default_rng(seed)
    bright = _block(device, 1.0 - share, 1.0)
    dim = _block(device, share, light)
    currents = np.linspace(device.photocurrent * 1.001, -0.05 * device.photocurrent, 60_000)
    fine = bright(currents) + dim(currents)
    rising = fine > -0.002 * fine[-1]
    fine, currents = fine[rising], currents[rising]
    order = np.argsort(fine, kind="stable")
    fine, currents = fine[order], currents[order]
    v_oc = float(np.interp(0.0, -currents, fine))
    voltage = np.linspace(0.0, v_oc, points)
    current = np.interp(voltage, fine, currents)
    current = current + random.normal(0.0, noise, points) * device.photocurrent
    return voltage, current, fine, currents


def _block(device: Device, share: float, light: float) -> Callable[[Array], Array]:
    """Voltage of part of the cells as a function of current, 0.5 V below zero when bypassed."""
    a, series, shunt = (
        device.nNsVth * share,
        device.resistance_series * share,
        device.resistance_shunt * share,
    )
    photo = device.photocurrent * light
    highest = a * np.log(1.2 * photo / device.saturation_current)
    inner = np.linspace(-0.3 * highest, highest, 40_000)
    current = photo - device.saturation_current * np.expm1(inner / a) - inner / shunt
    voltage = inner - current * series

    def at(i: Array) -> Array:
        found = np.interp(i, current[::-1], voltage[::-1])
        return np.where(found < -0.5, -0.5, found)

    return at
