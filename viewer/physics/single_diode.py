"""The single-diode equation and its curve in parametric form.

    I = photocurrent - saturation_current (exp(Vd / nNsVth) - 1) - Vd / resistance_shunt
    V = Vd - I resistance_series

With the diode voltage Vd as the parameter both V and I are explicit (J. W. Bishop,
Solar Cells 25 (1988) 73-89, doi 10.1016/0379-6787(88)90059-2): one exponential a point and
no root to find. pvlib's `bishop88` is the reference the tests compare with.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.parametric_curve import fill_curves
from viewer.physics.root_finding import falling_root, linear_plus_exponential_root

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class DiodeParameters:
    """The five parameters of one device or of many (arrays of one shape, or scalars).

    photocurrent, saturation_current [A]; resistance_series, resistance_shunt [ohm];
    nNsVth [V]: diode factor times cells in series times the thermal voltage of one cell.
    """

    photocurrent: Array
    saturation_current: Array
    resistance_series: Array
    resistance_shunt: Array
    nNsVth: Array  # noqa: N815 (pvlib's spelling)

    @classmethod
    def of(
        cls,
        photocurrent: ArrayLike,
        saturation_current: ArrayLike,
        resistance_series: ArrayLike,
        resistance_shunt: ArrayLike,
        nNsVth: ArrayLike,  # noqa: N803
    ) -> "DiodeParameters":
        """From numbers or arrays that broadcast to one shape."""
        return cls(
            *np.broadcast_arrays(
                *(
                    np.asarray(x, dtype=float)
                    for x in (
                        photocurrent,
                        saturation_current,
                        resistance_series,
                        resistance_shunt,
                        nNsVth,
                    )
                )
            )
        )

    @property
    def shape(self) -> tuple[int, ...]:
        return np.shape(self.photocurrent)

    def in_series(self, count: ArrayLike) -> "DiodeParameters":
        """`count` equal devices in series: voltages add."""
        n = np.asarray(count, dtype=float)
        return DiodeParameters.of(
            self.photocurrent,
            self.saturation_current,
            self.resistance_series * n,
            self.resistance_shunt * n,
            self.nNsVth * n,
        )

    def in_parallel(self, count: ArrayLike) -> "DiodeParameters":
        """`count` equal devices in parallel: currents add."""
        n = np.asarray(count, dtype=float)
        return DiodeParameters.of(
            self.photocurrent * n,
            self.saturation_current * n,
            self.resistance_series / n,
            self.resistance_shunt / n,
            self.nNsVth,
        )

    def with_extra_series(self, resistance: ArrayLike) -> "DiodeParameters":
        """The same with `resistance` [ohm] more in series (cable, connectors)."""
        return DiodeParameters.of(
            self.photocurrent,
            self.saturation_current,
            self.resistance_series + np.asarray(resistance, dtype=float),
            self.resistance_shunt,
            self.nNsVth,
        )

    def as_tuple(self) -> tuple[Array, Array, Array, Array, Array]:
        """In pvlib's order: photocurrent, saturation current, series, shunt, nNsVth."""
        return (
            self.photocurrent,
            self.saturation_current,
            self.resistance_series,
            self.resistance_shunt,
            self.nNsVth,
        )

    def __getitem__(self, index: Any) -> "DiodeParameters":
        """A selection of the devices, as numpy selects."""
        return DiodeParameters(*(np.asarray(p)[index] for p in self.as_tuple()))


def diode_current(params: DiodeParameters, diode_voltage: ArrayLike) -> Array:
    """Terminal current [A] at a diode voltage [V]; shapes broadcast."""
    vd = np.asarray(diode_voltage, dtype=float)
    with np.errstate(over="ignore"):
        recombined = params.saturation_current * np.expm1(vd / params.nNsVth)
    return params.photocurrent - recombined - vd / params.resistance_shunt


def diode_conductance(params: DiodeParameters, diode_voltage: ArrayLike) -> Array:
    """-dI/dVd [S] at a diode voltage [V]: the junction's and the shunt's conductance."""
    vd = np.asarray(diode_voltage, dtype=float)
    with np.errstate(over="ignore"):
        junction = params.saturation_current / params.nNsVth * np.exp(vd / params.nNsVth)
    return junction + 1.0 / params.resistance_shunt


def open_circuit_voltage(params: DiodeParameters) -> Array:
    """Voltage [V] without current. Newton from the right, where the current is concave."""
    without_shunt = params.nNsVth * np.log1p(params.photocurrent / params.saturation_current)

    def current_and_slope(vd: Array) -> tuple[Array, Array]:
        return diode_current(params, vd), -diode_conductance(params, vd)

    return falling_root(
        current_and_slope, np.zeros_like(without_shunt), without_shunt, without_shunt
    )


def short_circuit_diode_voltage(params: DiodeParameters) -> Array:
    """Diode voltage [V] when the terminals are shorted: Vd = I(Vd) resistance_series."""
    rs = params.resistance_series
    most = np.minimum(
        params.photocurrent * rs,
        params.nNsVth * np.log1p(params.photocurrent / params.saturation_current),
    )

    def terminal_voltage_below_zero(vd: Array) -> tuple[Array, Array]:
        return (
            rs * diode_current(params, vd) - vd,
            -rs * diode_conductance(params, vd) - 1.0,
        )

    return falling_root(terminal_voltage_below_zero, np.zeros_like(most), most, most)


def maximum_power_diode_voltage(params: DiodeParameters, diode_sc: Array, v_oc: Array) -> Array:
    """Diode voltage [V] where dP/dVd = 0, that is I = g (V - I resistance_series)."""
    rs, a = params.resistance_series, params.nNsVth
    shunt = 1.0 / params.resistance_shunt

    def slope_of_power(vd: Array) -> tuple[Array, Array]:
        current, g = diode_current(params, vd), diode_conductance(params, vd)
        lever = vd - 2.0 * current * rs
        return current - g * lever, -2.0 * g * (1.0 + g * rs) - (g - shunt) / a * lever

    start = np.clip(v_oc - a * np.log1p(v_oc / a), diode_sc, v_oc)
    return falling_root(slope_of_power, diode_sc, v_oc, start)


def curve(params: DiodeParameters, points: int = 200) -> tuple[Array, Array]:
    """Voltage [V] and current [A] of each device from 0 V to v_oc, rising in voltage.

    Both of shape `params.shape + (points,)`. Points are spaced by the sine of a quarter turn
    in diode voltage, so that they crowd towards v_oc where the current falls steeply.
    Raises ValueError for fewer than two points.
    """
    if points < 2:
        raise ValueError(f"A curve needs at least 2 points, not {points}.")
    share = np.sin(0.5 * np.pi * np.linspace(0.0, 1.0, points))
    diode_sc = np.asarray(short_circuit_diode_voltage(params))
    v_oc = np.asarray(open_circuit_voltage(params))
    voltage = np.multiply((v_oc - diode_sc)[..., None], share)
    voltage += diode_sc[..., None]
    current = _to_terminals(params, voltage)
    voltage[..., 0] = np.where(np.isnan(v_oc), np.nan, 0.0)
    voltage[..., -1] = v_oc
    current[..., -1] = np.where(np.isnan(v_oc), np.nan, 0.0)
    return voltage, current


def from_diode_voltage(params: DiodeParameters, diode_voltage: ArrayLike) -> tuple[Array, Array]:
    """Voltage [V] and current [A] at each diode voltage [V], both `params.shape + (points,)`.

    `diode_voltage` has that shape, or (points,) if all devices are taken at the same ones.
    """
    given = np.asarray(diode_voltage, dtype=float)
    voltage = np.array(np.broadcast_to(given, params.shape + given.shape[-1:]))
    return voltage, _to_terminals(params, voltage)


def _to_terminals(params: DiodeParameters, voltage: Array) -> Array:
    """Replace diode voltages by terminal voltages in place; returns the current."""
    columns = (np.reshape(p, (-1, 1)) for p in params.as_tuple())
    rows = voltage.reshape(-1, voltage.shape[-1])
    with np.errstate(over="ignore"):
        return fill_curves(rows, *columns).reshape(voltage.shape)


def current_at(params: DiodeParameters, voltage: ArrayLike) -> Array:
    """Current [A] at a terminal voltage [V]; beyond v_oc it is negative. Shapes broadcast.

    Vd (1 + rs/rsh) + rs I0 exp(Vd/a) = V + rs (IL + I0) is solved for Vd.
    """
    v = np.asarray(voltage, dtype=float)
    rs, a = params.resistance_series, params.nNsVth
    weight = a * (1.0 + rs / params.resistance_shunt)
    with np.errstate(divide="ignore"):
        log_factor = np.log(rs * params.saturation_current / weight)
    target = (v + rs * (params.photocurrent + params.saturation_current)) / weight
    diode_voltage = a * linear_plus_exponential_root(target, log_factor)
    by_junction = diode_current(params, diode_voltage)
    steep = rs * diode_conductance(params, diode_voltage) > 1.0
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(steep, (diode_voltage - v) / rs, by_junction)


def voltage_at(params: DiodeParameters, current: ArrayLike) -> Array:
    """Terminal voltage [V] at a current [A]; above i_sc it is negative. Shapes broadcast.

    Vd/rsh + I0 exp(Vd/a) = IL + I0 - I is solved for Vd. Without a shunt (infinite rsh) no
    voltage carries more than IL + I0, and the answer there is minus infinity.
    """
    i = np.asarray(current, dtype=float)
    a, shunt = params.nNsVth, 1.0 / params.resistance_shunt
    remaining = params.photocurrent + params.saturation_current - i
    with np.errstate(divide="ignore", invalid="ignore"):
        target = remaining / (a * shunt)
        log_factor = np.log(params.saturation_current / (a * shunt))
        with_shunt = a * linear_plus_exponential_root(target, log_factor)
        without = a * np.log(np.maximum(remaining, 0.0) / params.saturation_current)
    diode_voltage = np.where(shunt > 0.0, with_shunt, without)
    return diode_voltage - i * params.resistance_series


def exact_key_points(params: DiodeParameters) -> dict[str, Array]:
    """The six key points of each device to rounding error.

    Returns i_sc, i_mp [A], v_oc, v_mp [V], p_mp [W] and fill_factor, each of the shape of
    `params`. NaN parameters give NaN; no light gives zeros and a fill factor of NaN.
    """
    diode_sc, v_oc = short_circuit_diode_voltage(params), open_circuit_voltage(params)
    diode_mp = maximum_power_diode_voltage(params, diode_sc, v_oc)
    i_sc, i_mp = diode_current(params, diode_sc), diode_current(params, diode_mp)
    v_mp = diode_mp - i_mp * params.resistance_series
    p_mp, most = v_mp * i_mp, v_oc * i_sc
    fill = np.divide(p_mp, most, out=np.full(np.shape(most), np.nan), where=most > 0)
    return {
        "i_sc": i_sc,
        "v_oc": v_oc,
        "i_mp": i_mp,
        "v_mp": v_mp,
        "p_mp": p_mp,
        "fill_factor": fill,
    }
