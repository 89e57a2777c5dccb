"""What the shape of one sweep shows: its signatures, with sizes and what each costs."""

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.explanations import USUAL_LEAK
from viewer.analysis.reduced_string import (
    CELLS,
    CURRENT,
    FRACTION,
    GROUPS,
    KNEE,
    LEAK,
    SERIES,
    SHIFT,
    STAIR_LEAK,
    STRING_PARAMETERS,
    TABLE_VOLTAGES,
    Reference,
    maximum_power,
    reference_of,
    stair_count,
    stair_place,
    start_vector,
)
from viewer.analysis.signature_choice import (
    LEAKING_GROUPS,
    MISMATCH,
    STAIRS,
    Choice,
    choose_explanation,
)
from viewer.analysis.signature_fit import BASE, LEAKING_WIDTH, Fit, Sweep, free_places
from viewer.analysis.signature_words import (
    low_current,
    low_voltage,
    rounded_knee,
    slope_near_isc,
    slope_near_voc,
    step,
    wrong_irradiance,
    wrong_temperature,
)
from viewer.analysis.stair_vectors import level_spread, onset, without_stair
from viewer.analysis.sweep_noise import sweep_noise
from viewer.analysis.trace_result import Signature
from viewer.analysis.voltage_reading import KNEE_SHARE, VoltageReading, read_voltage
from viewer.physics.conditions import IRRADIANCE_REF
from viewer.physics.key_points import KeyPoints
from viewer.physics.single_diode import DiodeParameters

Array = NDArray[np.float64]

STAIRS_ON_VOLTAGE = 0.012
"""How uncertain the voltage becomes when stairs take all of the string (relative)."""
LIGHT_PER_KNEE = 0.06
"""Voltage (in units) that a bend of the knee stands for per e-fold of irradiance: about the
thermal voltage over the open-circuit voltage."""
LEAST_STAIR = 0.955
"""Groups limited less than to this fraction are the ordinary spread of modules."""
LEAST_LEAK_LOSS = 0.008
"""Leaking groups that cost less than this share of the power are not reported."""
KNEE_TO_SERIES = 0.12
"""A bend of the knee and a series resistance that agree at maximum power at 1000 W/m² (in units).

The datasheet fixes maximum power there, so a wrong diode factor is made good by resistance; as
resistance counts less in less light, so does what is made good.
"""
USUAL_SUNS = 0.75
"""Irradiance over 1000 W/m² where it is not told."""


@dataclass(frozen=True)
class InputUncertainty:
    """Standard uncertainties of what the prediction rests on (k = 1).

    irradiance, module_current, module_voltage, prediction_voltage: relative; temperature [K];
    series and leak: in units of v_oc / i_sc and of i_sc at v_oc; voltage_per_kelvin: relative
    change of v_oc [1/K]. `coverage` is how many of them a deviation must exceed to be reported.
    """

    irradiance: float = 0.0175
    temperature: float = 0.9
    module_current: float = 0.006
    module_voltage: float = 0.003
    prediction_voltage: float = 0.0022
    series: float = 0.0062
    leak: float = 0.008
    voltage_per_kelvin: float = -0.0029
    coverage: float = 2.7


@dataclass(frozen=True)
class StairReading:
    """One stair: groups limited to `current_fraction` of the string's short-circuit current.

    `limited_cells` is the share of the groups' cells that is limited, as far as the stair's
    tilt tells; near 1 a whole group, small a single cell or few.
    """

    bypass_groups: int
    current_fraction: float
    voltage_span: float
    limited_cells: float
    loss: float
    """W at the maximum power point."""


@dataclass(frozen=True, eq=False)
class SignatureReading:
    """Signatures of one sweep and the numbers behind them.

    current_scale: measured over predicted photocurrent; voltage: see VoltageReading;
    extra_series [ohm]; extra_conductance [S] of the whole string; leaking_groups: how many
    groups leak when it is not the whole string; current_spread: standard deviation of the
    groups' currents, relative. Uncertainties are standard uncertainties. `losses` holds W for
    each kind; `p_mp` and `predicted_p_mp` [W] are those of the fitted and predicted curves.
    `roughness` is the residual over the sweep's own noise (1: all explained).
    """

    signatures: tuple[Signature, ...]
    explanation: str
    bypass_groups: int
    current_scale: float
    current_uncertainty: float
    voltage: VoltageReading
    extra_series: float
    extra_series_uncertainty: float
    extra_conductance: float
    extra_conductance_uncertainty: float
    leaking_groups: int
    current_spread: float
    stairs: tuple[StairReading, ...]
    losses: dict[str, float]
    p_mp: float
    predicted_p_mp: float
    roughness: float
    bypass_diodes: int = 3
    parallel_paths: int = 1
    remarks: tuple[str, ...] = field(default=())

    def of_kind(self, kind: str) -> tuple[Signature, ...]:
        return tuple(s for s in self.signatures if s.kind == kind)


def read_signatures(
    voltage: Array,
    current: Array,
    key_points: KeyPoints,
    predicted: DiodeParameters,
    bypass_groups: int,
    *,
    bypass_diodes: int = 3,
    parallel_paths: int = 1,
    uncertainty: InputUncertainty | None = None,
    predicted_p_mp: float | None = None,
    irradiance: float | None = None,
) -> SignatureReading:
    """Read the signatures of a clean sweep (voltage [V] rising, current [A], shape (n,)).

    `predicted` holds the whole string's five parameters (numbers) at the sweep's conditions;
    `bypass_groups` is modules in series times bypass diodes, `bypass_diodes` those of a module,
    `parallel_paths` 2 for half-cut modules; `predicted_p_mp` [W] is computed when not given;
    with the `irradiance` [W/m²] of the prediction voltage and resistance are read more sharply.
    Raises ValueError for fewer than 8 points or a prediction that is not finite.
    """
    known = uncertainty or InputUncertainty()
    bypass_groups, bypass_diodes = max(bypass_groups, 1), max(bypass_diodes, 1)
    reference, sweep = prepare(voltage, current, predicted, bypass_groups)
    choice = choose_explanation(reference, sweep, bypass_groups, parallel_paths)
    reader = _VoltageReader(known, bypass_diodes, irradiance)
    fit, reading = _with_whole_groups_lost(choice, reader)
    return _Reader(
        reference,
        choice,
        fit,
        reading,
        known,
        key_points,
        bypass_diodes,
        parallel_paths,
        predicted_p_mp,
        irradiance,
    ).reading()


def prepare(
    voltage: Array, current: Array, predicted: DiodeParameters, bypass_groups: int
) -> tuple[Reference, Sweep]:
    """The prediction and the sweep in the prediction's units."""
    if voltage.size < 8:
        raise ValueError(
            f"A sweep of {voltage.size} points is too short to read its shape; 8 are the least."
        )
    numbers = [
        float(getattr(predicted, name))
        for name in ("photocurrent", "saturation_current", "resistance_series", "nNsVth")
    ]
    if not np.all(np.isfinite(numbers)) or numbers[0] <= 0.0 or numbers[1] <= 0.0:
        raise ValueError("The predicted curve has no finite parameters, so nothing to compare.")
    reference = reference_of(predicted, bypass_groups)
    v = voltage / reference.voltage_unit
    i = current / reference.current_unit
    noise_voltage, noise_current = sweep_noise(v, i)
    return reference, Sweep(v, i, noise_voltage, noise_current)


def extra_series(vector: Array, irradiance: float | None) -> float:
    """Series resistance more than predicted (in units), after what the knee accounts for."""
    suns = irradiance / IRRADIANCE_REF if irradiance else USUAL_SUNS
    return float(vector[SERIES]) + KNEE_TO_SERIES * suns * float(vector[KNEE])


@dataclass(frozen=True)
class _VoltageReader:
    known: InputUncertainty
    bypass_diodes: int
    irradiance: float | None

    def read(self, fit: Fit, groups: int) -> VoltageReading:
        known = self.known
        knee = float(fit.vector[KNEE])
        lost = (1.0 - fit.present) - float(fit.vector[SHIFT]) + self._light_bias(knee)
        modules = max(groups / self.bypass_diodes, 1.0)
        spread = float(
            np.sqrt(
                min(fit.uncertainty(SHIFT) * max(fit.roughness, 1.0), 0.02) ** 2
                + (STAIRS_ON_VOLTAGE * fit.stair_share) ** 2
                + (known.temperature * known.voltage_per_kelvin) ** 2
                + known.module_voltage**2 / modules
                + known.prediction_voltage**2
            )
        )
        series = extra_series(fit.vector, self.irradiance)
        return read_voltage(
            lost,
            spread,
            groups,
            self.bypass_diodes,
            known.voltage_per_kelvin,
            series - KNEE_SHARE * (1.0 - fit.present),
        )

    def _light_bias(self, knee: float) -> float:
        """What a diode factor unlike the predicted one does to the voltage in less light.

        The knee shows the difference of the diode factors; the voltage falls with the logarithm
        of irradiance in proportion to the diode factor.
        """
        if self.irradiance is None or self.irradiance <= 0.0:
            return 0.0
        return LIGHT_PER_KNEE * knee * float(np.log(self.irradiance / IRRADIANCE_REF))


def _with_whole_groups_lost(choice: Choice, reader: _VoltageReader) -> tuple[Fit, VoltageReading]:
    """Read the voltage; if whole groups are lost, fit again with exactly those absent."""
    fit, groups = choice.fit, choice.problem.groups
    reading = reader.read(fit, groups)
    lost = reading.groups if reading.significant and reading.groups_lead else 0
    present = 1.0 - lost / groups
    if abs(present - fit.present) < 1e-9 or choice.explanation == MISMATCH:
        return fit, reading
    start = fit.vector.copy()
    start[SHIFT] += fit.present - present
    if choice.explanation == LEAKING_GROUPS:
        free = np.array([*BASE, stair_place(0, GROUPS), stair_place(0, STAIR_LEAK)])
        problem = replace(choice.problem, leak_width=LEAKING_WIDTH)
    else:
        free = free_places(BASE, stair_count(start), fixed_groups=True)
        problem = choice.problem
    fit = problem.fit(start, present, free, 8)
    return fit, reader.read(fit, groups)


class _Reader:
    """Turns one fit into a reading; holds what its steps share."""

    def __init__(
        self,
        reference: Reference,
        choice: Choice,
        fit: Fit,
        voltage: VoltageReading,
        known: InputUncertainty,
        key_points: KeyPoints,
        bypass_diodes: int,
        parallel_paths: int,
        predicted_p_mp: float | None,
        irradiance: float | None,
    ) -> None:
        self.reference = reference
        self.choice = choice
        self.fit = fit
        self.vector = fit.vector
        self.voltage = voltage
        self.known = known
        self.key_points = key_points
        self.bypass_diodes = bypass_diodes
        self.parallel_paths = parallel_paths
        self._given_p_mp = predicted_p_mp
        self.irradiance = irradiance
        self.losses: dict[str, float] = {}
        self.signatures: list[Signature] = []

    @cached_property
    def p_mp(self) -> float:
        return self._power(self.vector)

    @cached_property
    def predicted_p_mp(self) -> float:
        if self._given_p_mp is not None and np.isfinite(self._given_p_mp):
            return self._given_p_mp
        return maximum_power(self.reference, start_vector(), 1.0)[0]

    def _power(self, vector: Array, present: float | None = None) -> float:
        share = self.fit.present if present is None else present
        return maximum_power(self.reference, vector, share)[0]

    def _gain(self, vector: Array, present: float | None = None) -> float:
        """What the string would yield more, W, with the parameters `vector`."""
        return max(self._power(vector, present) - self.p_mp, 0.0)

    def reading(self) -> SignatureReading:
        stairs = self._steps()
        spread, mean = self._mismatch()
        scale, scale_uncertainty = self._current(mean, spread)
        self._voltage()
        series, series_uncertainty = self._series()
        conductance, conductance_uncertainty, leaking = self._leak()
        return SignatureReading(
            signatures=tuple(self.signatures),
            explanation=self.choice.explanation,
            bypass_groups=self.choice.problem.groups,
            current_scale=scale,
            current_uncertainty=scale_uncertainty,
            voltage=self.voltage,
            extra_series=series,
            extra_series_uncertainty=series_uncertainty,
            extra_conductance=conductance,
            extra_conductance_uncertainty=conductance_uncertainty,
            leaking_groups=leaking,
            current_spread=spread,
            stairs=stairs,
            losses=self.losses,
            p_mp=self.p_mp if self.signatures else self.key_points.p_mp,
            predicted_p_mp=self.predicted_p_mp,
            roughness=self.fit.roughness,
            bypass_diodes=self.bypass_diodes,
            parallel_paths=self.parallel_paths,
        )

    def _add(self, signature: Signature, loss: float) -> None:
        self.signatures.append(signature)
        self.losses[signature.kind] = self.losses.get(signature.kind, 0.0) + loss

    def _steps(self) -> tuple[StairReading, ...]:
        if self.choice.explanation != STAIRS:
            return ()
        readings = []
        scale = float(self.vector[CURRENT]) * self.reference.current_unit
        i_sc = self.key_points.i_sc
        per_unit = scale / i_sc if np.isfinite(i_sc) and i_sc > 0 else 1.0
        order = sorted(
            range(stair_count(self.vector)),
            key=lambda k: float(self.vector[stair_place(k, FRACTION)]),
        )
        for k in order:
            place = stair_place(k, 0)
            if self.vector[place + FRACTION] > LEAST_STAIR:
                continue
            share, cells = float(self.vector[place + GROUPS]), float(self.vector[place + CELLS])
            fraction = onset(self.vector, k)
            loss = self._gain(without_stair(self.vector, k))
            one = StairReading(
                bypass_groups=max(1, round(share * self.choice.problem.groups)),
                current_fraction=fraction * per_unit,
                voltage_span=self._span(share, fraction),
                limited_cells=cells,
                loss=loss,
            )
            readings.append(one)
            self._add(
                step(one.current_fraction, one.voltage_span, one.bypass_groups, loss, self._of()),
                loss,
            )
        return tuple(readings)

    def _of(self) -> float:
        return self.predicted_p_mp

    def _span(self, share: float, fraction: float) -> float:
        """Voltage the stair takes [V]: the groups' own and their diodes' drop."""
        r = self.reference
        c = float(self.vector[CURRENT])
        net = c * (1.0 - fraction)
        own = float(np.interp(net, r.table, TABLE_VOLTAGES)) - r.series * c * fraction
        return share * (max(own, 0.0) + r.bypass_drop) * r.voltage_unit

    def _mismatch(self) -> tuple[float, float]:
        """Spread of the groups' currents and their mean, both relative to the largest."""
        if self.choice.explanation != MISMATCH:
            return 0.0, 1.0
        count = stair_count(self.vector)
        shares = np.array([self.vector[stair_place(k, GROUPS)] for k in range(count)])
        levels = np.array([self.vector[stair_place(k, FRACTION)] for k in range(count)])
        mean = 1.0 - float(shares @ (1.0 - levels)) / self.fit.present
        spread = level_spread(self.vector, self.fit.present)
        equal = self.vector[:STRING_PARAMETERS].copy()
        equal[CURRENT] *= mean
        loss = self._gain(equal)
        self._add(rounded_knee(spread, loss, self._of()), loss)
        return spread, mean

    def _current(self, mean: float, unequal: float) -> tuple[float, float]:
        scale = float(self.vector[CURRENT]) * mean
        known = self.known
        spread = float(
            np.sqrt(
                known.irradiance**2
                + known.module_current**2
                + (0.4 * unequal) ** 2
                + min(self.fit.uncertainty(CURRENT), 0.05) ** 2
            )
        )
        lost = 1.0 - scale
        if lost > known.coverage * spread:
            whole = self.vector.copy()
            whole[CURRENT] /= scale
            loss = self._gain(whole)
            self._add(low_current(lost, spread, loss, self._of()), loss)
        elif -lost > known.coverage * spread:
            self._add(wrong_irradiance(-lost, spread), 0.0)
        return scale, spread

    def _voltage(self) -> None:
        v = self.voltage
        if not v.significant:
            return
        volts = v.lost * self.reference.voltage_unit
        likely_input = not v.groups_lead
        if v.lost > 0.0:
            whole = self.vector.copy()
            whole[SHIFT] = 0.0
            loss = self._gain(whole, 1.0)
            groups = 0 if likely_input else v.groups
            self._add(low_voltage(volts, v, groups, self.bypass_diodes, loss, self._of()), loss)
        if v.lost < 0.0 or likely_input:
            self._add(wrong_temperature(v), 0.0)

    def _series(self) -> tuple[float, float]:
        vector, known = self.vector, self.known
        extra = extra_series(vector, self.irradiance)
        spread = float(np.hypot(known.series, min(self.fit.uncertainty(SERIES), 0.02)))
        ohm = self.reference.ohm
        if extra > known.coverage * spread:
            without = vector.copy()
            without[SERIES] -= extra
            loss = self._gain(without)
            self._add(slope_near_voc(extra * ohm, spread * ohm, loss, self._of()), loss)
        return extra * ohm, spread * ohm

    def _leak(self) -> tuple[float, float, int]:
        vector, known, r = self.vector, self.known, self.reference
        spread = float(np.hypot(known.leak, min(self.fit.uncertainty(LEAK), 0.03)))
        per_ohm = 1.0 / r.ohm
        if self.choice.explanation == LEAKING_GROUPS:
            place = stair_place(0, 0)
            share, leak = float(vector[place + GROUPS]), float(vector[place + STAIR_LEAK])
            groups = max(1, round(share * self.choice.problem.groups))
            without = vector[:STRING_PARAMETERS].copy()
            loss = self._gain(without)
            if loss < LEAST_LEAK_LOSS * self.predicted_p_mp:
                return 0.0, spread * per_ohm, 0
            # a part of the string has the conductance of the whole over its share
            own = leak * per_ohm / max(share, 1e-6)
            self._add(slope_near_isc(own, groups, leak, loss, self._of()), loss)
            return leak * per_ohm, spread * per_ohm, groups
        extra = float(vector[LEAK]) - USUAL_LEAK
        if extra > known.coverage * spread and self.choice.explanation != MISMATCH:
            without = vector.copy()
            without[LEAK] = USUAL_LEAK
            loss = self._gain(without)
            self._add(
                slope_near_isc(
                    extra * per_ohm, self.choice.problem.groups, extra, loss, self._of()
                ),
                loss,
            )
            return extra * per_ohm, spread * per_ohm, self.choice.problem.groups
        return extra * per_ohm, spread * per_ohm, 0
