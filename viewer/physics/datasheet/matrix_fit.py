"""A module model fitted to measurements at several irradiances and temperatures.

The rows may be the whole matrix of IEC 61853-1 or only what a datasheet adds to STC: the values
at nominal module operating temperature (800 W/m²), a row at 200 W/m². The datasheet's model is
the starting point and the expectation: every parameter is drawn towards it with the standard
deviation it may have beforehand, so that few rows move only what they tell about, and a full
matrix decides nearly everything (maximum a posteriori estimate by least squares).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import least_squares

from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF
from viewer.physics.datasheet.irradiance_fit import through_ends
from viewer.physics.datasheet.module_model import BOLTZMANN, T_REF, ModuleModel
from viewer.physics.datasheet.stc_solution import StcPoints
from viewer.physics.single_diode import exact_key_points

Array = NDArray[np.float64]

EXPECTED_DEVIATION: dict[str, float] = {
    "i_sc": 0.005,
    "v_oc": 0.003,
    "i_mp": 0.006,
    "v_mp": 0.005,
    "p_mp": 0.002,
}
"""Relative deviation each measured quantity is expected to keep (judgement): power is weighted
highest, because it is what is compared with in the end."""

UNTOLD_DEVIATION = 0.03
"""Relative deviation of power above which a row is pointed out."""

OUTLYING = 3.0
"""Residuals beyond this many expected deviations count linearly, no longer squared."""


@dataclass(frozen=True)
class Freedom:
    """One unknown: the deviation expected beforehand, and its limits, as changes of the start."""

    name: str
    deviation: float
    low: float
    high: float


FREEDOMS: tuple[Freedom, ...] = (
    Freedom("log of i_sc", 0.02, -0.2, 0.2),
    Freedom("log of v_oc", 0.01, -0.1, 0.1),
    Freedom("log of the diode factor", 0.15, -0.6, 0.6),
    Freedom("log of the series resistance", 0.4, -3.0, 1.5),
    Freedom("log of the shunt conductance", 1.0, -5.0, 3.0),
    Freedom("dark share of the shunt", 0.3, -1.0, 1.0),
    Freedom("photocurrent exponent", 0.01, -0.1, 0.1),
    Freedom("saturation exponent", 0.05, -1.0, 1.0),
    Freedom("series exponent", 0.2, -2.0, 2.0),
    Freedom("alpha_sc over i_sc, 1/K", 0.0004, -0.003, 0.003),
    Freedom("log of the band gap", 0.05, -0.3, 0.3),
    Freedom("relative drift of the diode factor, 1/K", 0.002, -0.008, 0.008),
)
"""Expected deviations and limits are judgement: what the datasheets of one type leave open."""

DEVIATIONS = np.array([freedom.deviation for freedom in FREEDOMS])
DARK_SHARE = 5


@dataclass(frozen=True, eq=False)
class MatrixFit:
    """The fitted model; `residuals` holds model over measured minus 1 for each row and each
    quantity that was given; `changes` what became of each of FREEDOMS; `remarks` the rows that
    do not fit."""

    model: ModuleModel
    residuals: dict[str, Array]
    changes: dict[str, float]
    remarks: tuple[str, ...]


def fit_matrix(
    start: ModuleModel,
    effective_irradiance: ArrayLike,
    temperature_cell: ArrayLike,
    *,
    i_sc: ArrayLike | None = None,
    v_oc: ArrayLike | None = None,
    i_mp: ArrayLike | None = None,
    v_mp: ArrayLike | None = None,
    p_mp: ArrayLike | None = None,
) -> MatrixFit:
    """Fit one module to rows of measurements, starting from the model of its datasheet.

    `start` has shape (), as `datasheet_fit.fit_module` gives it. Irradiance [W/m²], cell
    temperature [°C] and the measured quantities [A, V, W] have shape (rows,); a quantity may be
    left out and single values may be NaN. Without a row at STC the start's own values at STC
    are added as one. Raises ValueError when there is no row with a usable value.
    """
    given = {"i_sc": i_sc, "v_oc": v_oc, "i_mp": i_mp, "v_mp": v_mp, "p_mp": p_mp}
    rows = _Rows.of(start, effective_irradiance, temperature_cell, given)
    start_share = float(start.dark_shunt_share)
    low = np.array([freedom.low for freedom in FREEDOMS])
    high = np.array([freedom.high for freedom in FREEDOMS])
    low[DARK_SHARE], high[DARK_SHARE] = -start_share - 1e-9, 1.0 - start_share + 1e-9

    def residuals(changes: Array) -> Array:
        return rows.residuals(changed(start, changes), changes)

    def jacobian(changes: Array) -> Array:
        steps = np.diag(1e-5 * DEVIATIONS)
        both = residuals(changes + np.concatenate([steps, -steps]))
        ahead, behind = np.split(both, 2)
        return ((ahead - behind) / (2e-5 * DEVIATIONS[:, None])).T

    found = least_squares(
        residuals,
        np.zeros(len(FREEDOMS)),
        jacobian,
        bounds=(low, high),
        x_scale=DEVIATIONS,
        loss="soft_l1",
        f_scale=OUTLYING,
    )
    model = changed(start, found.x)
    deviations = rows.deviations(model)
    return MatrixFit(
        model,
        deviations,
        {freedom.name: float(x) for freedom, x in zip(FREEDOMS, found.x, strict=True)},
        rows.remarks(deviations),
    )


def changed(start: ModuleModel, changes: Array) -> ModuleModel:
    """The start moved by changes of shape (..., len(FREEDOMS)); the model has shape (...)."""
    c = np.moveaxis(np.asarray(changes, dtype=float), -1, 0)
    key = exact_key_points(start.reference)
    n = start.diode_factor_ref * np.exp(c[2])
    rs = start.resistance_series_ref * np.exp(c[3])
    conductance = np.exp(c[4]) / start.resistance_shunt_ref
    ends = StcPoints(
        key["i_sc"] * np.exp(c[0]), key["v_oc"] * np.exp(c[1]), key["i_mp"], key["v_mp"]
    )
    scale = n * start.cells_in_series * BOLTZMANN * T_REF
    return ModuleModel.of(
        through_ends(ends, scale, rs, conductance),
        start.cells_in_series,
        start.alpha_sc + c[9] * key["i_sc"],
        start.band_gap * np.exp(c[10]),
        band_gap_slope=start.band_gap_slope,
        diode_factor_slope=start.diode_factor_slope + c[11] * n,
        dark_shunt_share=np.clip(start.dark_shunt_share + c[DARK_SHARE], 0.0, 1.0),
        photocurrent_exponent=start.photocurrent_exponent + c[6],
        saturation_exponent=start.saturation_exponent + c[7],
        series_exponent=start.series_exponent + c[8],
        activation_by_diode_factor=start.activation_by_diode_factor,
    )


@dataclass(frozen=True, eq=False)
class _Rows:
    """What was measured, and how far a model is from it."""

    irradiance: Array
    temperature: Array
    measured: dict[str, Array]
    given_rows: int

    @classmethod
    def of(
        cls,
        start: ModuleModel,
        irradiance: ArrayLike,
        temperature: ArrayLike,
        given: dict[str, ArrayLike | None],
    ) -> "_Rows":
        g, t = (np.asarray(x, dtype=float).reshape(-1) for x in (irradiance, temperature))
        unknown = np.full(g.shape, np.nan)
        measured = {
            name: unknown if values is None else np.asarray(values, dtype=float).reshape(-1)
            for name, values in given.items()
        }
        if t.shape != g.shape or any(values.shape != g.shape for values in measured.values()):
            raise ValueError("Every column of the matrix must have as many rows as the first.")
        measured["p_mp"] = np.where(
            np.isnan(measured["p_mp"]), measured["i_mp"] * measured["v_mp"], measured["p_mp"]
        )
        usable = (g > 0.0) & np.isfinite(t)
        measured = {
            name: np.where(usable & (values > 0.0), values, np.nan)
            for name, values in measured.items()
        }
        if not any(np.any(np.isfinite(values)) for values in measured.values()):
            raise ValueError(
                "The matrix has no row with an irradiance above zero, a temperature and a value."
            )
        return cls(np.where(usable, g, IRRADIANCE_REF), t, measured, len(g))._with_stc(start)

    def _with_stc(self, start: ModuleModel) -> "_Rows":
        near = (np.abs(self.irradiance - IRRADIANCE_REF) < 10.0) & (
            np.abs(self.temperature - TEMPERATURE_REF) < 1.0
        )
        if np.any(near & np.isfinite(self.measured["p_mp"])):
            return self
        at_stc = exact_key_points(start.reference)
        return _Rows(
            np.append(self.irradiance, IRRADIANCE_REF),
            np.append(self.temperature, TEMPERATURE_REF),
            {name: np.append(x, at_stc[name]) for name, x in self.measured.items()},
            self.given_rows,
        )

    def residuals(self, model: ModuleModel, changes: Array) -> Array:
        """Deviations over those expected, of measurements and of parameters, in one row."""
        columns = _each_row(model)
        predicted = exact_key_points(columns.operating(self.irradiance, self.temperature))
        parts = [
            np.nan_to_num(np.log(predicted[name] / values) / EXPECTED_DEVIATION[name])
            for name, values in self.measured.items()
        ]
        return np.concatenate([*parts, changes / DEVIATIONS], axis=-1)

    def deviations(self, model: ModuleModel) -> dict[str, Array]:
        """Model over measured minus 1, for the rows that were given."""
        predicted = exact_key_points(model.operating(self.irradiance, self.temperature))
        return {
            name: (predicted[name] / values - 1.0)[: self.given_rows]
            for name, values in self.measured.items()
            if np.any(np.isfinite(values[: self.given_rows]))
        }

    def remarks(self, deviations: dict[str, Array]) -> tuple[str, ...]:
        """One sentence for each row whose power the model does not meet."""
        power = deviations.get("p_mp", np.zeros(0))
        return tuple(
            f"The row at {self.irradiance[row]:g} W/m² and {self.temperature[row]:g} °C does not "
            f"fit the others: its power is {-100.0 * power[row]:+.1f} % off; check it."
            for row in np.flatnonzero(np.abs(power) > UNTOLD_DEVIATION)
        )


def _each_row(model: ModuleModel) -> ModuleModel:
    """The same models with an axis for the rows of the matrix."""
    return model[..., None]
