"""Keeping the low-irradiance prediction when the printed maximum power point is too sharp.

Datasheets print Imp and Vmp rounded and within a tolerance; their product is far more certain
than how it is split. A split with too high an Imp forces a diode factor below the technology's,
and a model that kept it would lose too little voltage at low irradiance and too little power in
the smaller series resistance. The power expected below 1000 W/m² is therefore taken from a
second set of parameters with the technology's diode factor and the printed Isc, Voc and Pmp,
and the first set is made to follow it through two exponents of irradiance (`module_model`).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.datasheet.maximum_power import power_at_scale, power_at_series
from viewer.physics.datasheet.stc_solution import StcPoints
from viewer.physics.root_finding import falling_root
from viewer.physics.single_diode import DiodeParameters, exact_key_points

Array = NDArray[np.float64]

FOLLOWED_AT = 0.5
"""Share of 1000 W/m² at which voltage and power are made equal."""

SERIES_EXPONENT_RANGE = (-1.0, 4.0)


@dataclass(frozen=True, eq=False)
class IrradianceFit:
    """Exponents of the saturation current and the series resistance in irradiance."""

    saturation_exponent: Array
    series_exponent: Array


def expected_parameters(
    points: StcPoints, a: Array, series: Array, conductance: Array
) -> DiodeParameters:
    """Parameters with the printed i_sc, v_oc and p_mp and diode voltage scale `a` [V].

    The shunt conductance [S] is given; the series resistance follows from the power, and where
    it would be below `series` [ohm] it is kept there and `a` is lowered instead.
    """
    p_mp = points.i_mp * points.v_mp

    def left_at_series(rs: Array) -> tuple[Array, Array]:
        known = through_ends(points, a, rs, conductance)
        power, slope = power_at_series(known, points.v_oc, points.i_sc * conductance)
        return power - p_mp, slope

    def left_at_scale(scale: Array) -> tuple[Array, Array]:
        known = through_ends(points, scale, series, conductance)
        power, slope = power_at_scale(known, points.v_oc)
        return power - p_mp, slope

    most = (points.v_oc - points.v_mp) / points.i_mp
    rs = falling_root(left_at_series, series, most, 0.3 * most, tolerance=1e-9)
    sharp = left_at_series(series)[0] < 0.0
    scale = falling_root(left_at_scale, 0.3 * a, a, 0.9 * a, tolerance=1e-9)
    return through_ends(points, np.where(sharp, scale, a), np.where(sharp, series, rs), conductance)


def through_ends(points: StcPoints, a: Array, rs: Array, conductance: Array) -> DiodeParameters:
    """Parameters whose curve passes through (0, i_sc) and (v_oc, 0)."""
    i_sc, v_oc = points.i_sc, points.v_oc
    j = (i_sc - conductance * (v_oc - i_sc * rs)) / -np.expm1((i_sc * rs - v_oc) / a)
    saturation = j * np.exp(-v_oc / a)
    photocurrent = saturation * np.expm1(v_oc / a) + v_oc * conductance
    return DiodeParameters.of(photocurrent, saturation, rs, 1.0 / conductance, a)


def dimmed(reference: DiodeParameters, share: float) -> DiodeParameters:
    """The parameters at `share` of 1000 W/m²: less light, less shunt conductance."""
    return DiodeParameters.of(
        reference.photocurrent * share,
        reference.saturation_current,
        reference.resistance_series,
        reference.resistance_shunt / share,
        reference.nNsVth,
    )


def follow(exact: DiodeParameters, expected: DiodeParameters) -> IrradianceFit:
    """Exponents with which `exact` has the voltage and power of `expected` at FOLLOWED_AT."""
    goal = exact_key_points(dimmed(expected, FOLLOWED_AT))
    dim = dimmed(exact, FOLLOWED_AT)
    saturation = (dim.photocurrent - goal["v_oc"] / dim.resistance_shunt) / np.expm1(
        goal["v_oc"] / dim.nNsVth
    )

    def power_left(growth: Array) -> tuple[Array, Array]:
        known = DiodeParameters(
            dim.photocurrent,
            saturation,
            dim.resistance_series * growth,
            dim.resistance_shunt,
            dim.nNsVth,
        )
        power, slope = power_at_series(known, goal["v_oc"])
        return power - goal["p_mp"], slope * dim.resistance_series

    least, most = (FOLLOWED_AT**exponent for exponent in reversed(SERIES_EXPONENT_RANGE))
    ones = np.ones_like(saturation)
    growth = falling_root(power_left, least * ones, most * ones, 0.5 * ones, tolerance=1e-9)
    return IrradianceFit(
        np.log(saturation / dim.saturation_current) / np.log(FOLLOWED_AT),
        np.log(growth) / np.log(FOLLOWED_AT),
    )
