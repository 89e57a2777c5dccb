"""The curves of many devices, each measured or computed at the same conditions."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from viewer.physics.translation.condition_curve import ConditionCurve
from viewer.physics.translation.curve_ends import crossing, short_circuit

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ConditionCurves:
    """voltage [V] rising and current [A], (devices, curves, points), NaN after a shorter curve's
    last point; poa_global [W/m²], temperature_cell [°C], (curves,)."""

    voltage: Array
    current: Array
    poa_global: Array
    temperature_cell: Array

    @classmethod
    def of(cls, curves: Sequence[ConditionCurve]) -> "ConditionCurves":
        """The curves of one device."""
        points = max((one.voltage.size for one in curves), default=0)
        voltage = np.full((1, len(curves), points), np.nan)
        current = voltage.copy()
        for k, one in enumerate(curves):
            voltage[0, k, : one.voltage.size] = one.voltage
            current[0, k, : one.current.size] = one.current
        return cls(
            voltage,
            current,
            np.array([one.poa_global for one in curves], dtype=float),
            np.array([one.temperature_cell for one in curves], dtype=float),
        )

    def chosen(self, places: Sequence[int]) -> "ConditionCurves":
        """Those curves of every device."""
        k = list(places)
        return ConditionCurves(
            self.voltage[:, k], self.current[:, k], self.poa_global[k], self.temperature_cell[k]
        )

    @cached_property
    def i_sc(self) -> Array:
        """[A], (devices, curves)."""
        return short_circuit(self.voltage, self.current)

    @cached_property
    def v_oc(self) -> Array:
        """[V], (devices, curves)."""
        return crossing(self.voltage, self.current)

    @cached_property
    def i_mp(self) -> Array:
        """Current [A] of the points of most power, (devices, curves); near enough to bound a
        range of currents."""
        top = np.nanargmax(self.voltage * self.current, axis=-1)
        return np.take_along_axis(self.current, top[..., None], -1)[..., 0]

    def voltage_at(self, current: Array) -> Array:
        """Voltage [V] at currents [A], both (devices, curves, n), by straight lines between
        points; the ends are held."""
        place = np.minimum(-current, self._last[..., None])
        found = np.interp(place + self._shift[..., None], *self._end_to_end)
        return np.where(place < self._first[..., None], self.voltage[..., :1], found)

    @cached_property
    def _rising(self) -> Array:
        """Minus the current, made to rise."""
        return -np.fmin.accumulate(self.current, axis=-1)

    @property
    def _first(self) -> Array:
        return self._rising[..., 0]

    @property
    def _last(self) -> Array:
        return self._rising[..., -1]

    @cached_property
    def _shift(self) -> Array:
        """[A]: moves each curve to where the one before it has ended, so that one search finds
        the places in all of them."""
        length = (self._last - self._first + 1.0).ravel()
        begin = np.concatenate([[0.0], np.cumsum(length[:-1])])
        return begin.reshape(self._first.shape) - self._first

    @cached_property
    def _end_to_end(self) -> tuple[Array, Array]:
        there = np.isfinite(self.current)
        return (self._rising + self._shift[..., None])[there], self.voltage[there]
