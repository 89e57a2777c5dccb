"""Signatures and causes of strings whose curves pvlib computes.

Source of the truth: pvlib's `v_from_i` (Lambert W) for every bypass group, group voltages added
at equal current, a conducting bypass diode taken as -0.5 V. Nothing of viewer/ is used for it.
The module's five parameters are those of a 60-cell module of pvlib's CEC list (Canadian Solar
CS6P-250P) moved to the conditions by pvlib's `calcparams_cec`.
"""

from dataclasses import dataclass

import numpy as np
import pvlib
import pytest

from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.signatures.signature_reading import InputUncertainty, SignatureReading
from viewer.analysis.signatures.signatures import SweepToRead, read_signatures
from viewer.physics.measured_sweep.key_points import find_key_points
from viewer.physics.single_diode import DiodeParameters

MODULE = pvlib.pvsystem.retrieve_sam("CECMod")["Canadian_Solar_Inc__CS6P_250P"]
GROUPS = 3
MODULES = 20
SHADE_OR_CELL = {"shading", "cell_fault"}


def module_parameters(poa: float, temperature: float) -> tuple[float, ...]:
    names = ("alpha_sc", "a_ref", "I_L_ref", "I_o_ref", "R_sh_ref", "R_s", "Adjust")
    return tuple(
        float(x)
        for x in pvlib.pvsystem.calcparams_cec(poa, temperature, *(float(MODULE[n]) for n in names))
    )


@dataclass(frozen=True)
class Truth:
    """A string of groups: fractions of the photocurrent each group is limited to."""

    fractions: np.ndarray
    poa: float = 850.0
    temperature: float = 45.0
    shunt_scale: np.ndarray | None = None
    lost_groups: int = 0
    series: float = 0.0
    current_scale: float = 1.0
    noise: float = 0.002
    points: int = 150

    def sweep(self, seed: int = 1) -> tuple[np.ndarray, np.ndarray]:
        il, i0, rs, rsh, a = module_parameters(self.poa, self.temperature)
        il *= self.current_scale
        current = np.linspace(0.0, 1.02 * il * self.fractions.max(), 3000)
        total = -self.series * current
        shunts = np.ones_like(self.fractions) if self.shunt_scale is None else self.shunt_scale
        for fraction, shunt in set(zip(self.fractions.tolist(), shunts.tolist(), strict=True)):
            count = int(np.sum((self.fractions == fraction) & (shunts == shunt)))
            own = pvlib.pvsystem.v_from_i(
                current, il * fraction, i0, rs / 3, rsh / 3 * shunt, a / 3, method="lambertw"
            )
            own = np.where(np.isfinite(own), own, -0.5)
            total = total + count * np.maximum(own, -0.5)
        keep = total >= 0.0
        order = np.argsort(total[keep])
        v_all, i_all = total[keep][order], current[keep][order]
        rng = np.random.default_rng(seed)
        v = np.linspace(0.003, 1.0, self.points) * v_all[-1]
        i = np.interp(v, v_all, i_all)
        v = v * (1 + 0.5 * self.noise * rng.standard_normal(v.size))
        i = i + self.noise * i.max() * rng.standard_normal(v.size)
        order = np.argsort(v)
        return v[order], i[order]


def read(
    truth: Truth, poa_read: float | None = None, warmer: float = 0.0, seed: int = 1
) -> SignatureReading:
    v, i = truth.sweep(seed)
    groups = truth.fractions.size + truth.lost_groups
    predicted = DiodeParameters.of(
        *module_parameters(poa_read or truth.poa, truth.temperature + warmer)
    ).in_series(groups / GROUPS)
    known = InputUncertainty(
        voltage_per_kelvin=voltage_per_kelvin(truth.poa, truth.temperature + warmer)
    )
    to_read = SweepToRead(
        v,
        i,
        find_key_points(v, i).values,
        predicted,
        groups,
        uncertainty=known,
        irradiance=poa_read or truth.poa,
    )
    return read_signatures([to_read])[0]


def voltage_per_kelvin(poa: float, temperature: float) -> float:
    """Relative change of open-circuit voltage, 1/K, from pvlib."""
    low, high = (
        pvlib.pvsystem.singlediode(*module_parameters(poa, t))["v_oc"]
        for t in (temperature - 1, temperature + 1)
    )
    return (high - low) / (high + low)


def healthy_groups(modules: int = MODULES) -> np.ndarray:
    return np.ones(GROUPS * modules)


def kinds(reading: SignatureReading) -> set[str]:
    return {signature.kind for signature in reading.signatures}


@pytest.mark.parametrize("modules", [1, 4, 20, 32])
@pytest.mark.parametrize(("poa", "temperature"), [(500.0, 10.0), (800.0, 45.0), (1100.0, 70.0)])
def test_sound_string_shows_nothing(modules: int, poa: float, temperature: float) -> None:
    reading = read(Truth(healthy_groups(modules), poa, temperature), poa_read=poa * 1.015)
    assert reading.signatures == ()
    assert rank_causes(reading)[0].cause == "none"


@pytest.mark.parametrize("fraction", [0.15, 0.4, 0.62, 0.8])
@pytest.mark.parametrize("limited", [2, 5, 9])
def test_one_stair_is_counted_and_placed(fraction: float, limited: int) -> None:
    fractions = healthy_groups()
    fractions[:limited] = fraction
    reading = read(Truth(fractions))
    assert [stair.bypass_groups for stair in reading.stairs] == [limited]
    assert reading.stairs[0].current_fraction == pytest.approx(fraction, abs=0.02)
    assert kinds(reading) == {"step"}
    whole_modules_a_little_weaker = limited == 9 and fraction == 0.8
    likeliest = {"module_mismatch", "shading"} if whole_modules_a_little_weaker else SHADE_OR_CELL
    assert {cause.cause for cause in rank_causes(reading)[:2]} == likeliest


@pytest.mark.parametrize("modules", [1, 2, 8, 16])
def test_one_group_of_a_short_string(modules: int) -> None:
    fractions = healthy_groups(modules)
    fractions[0] = 0.5
    reading = read(Truth(fractions))
    assert [stair.bypass_groups for stair in reading.stairs] == [1]
    assert reading.stairs[0].current_fraction == pytest.approx(0.5, abs=0.02)


def test_two_stairs() -> None:
    fractions = healthy_groups()
    fractions[:4], fractions[4:7] = 0.3, 0.7
    reading = read(Truth(fractions))
    assert [stair.bypass_groups for stair in reading.stairs] == [4, 3]
    assert [s.current_fraction for s in reading.stairs] == pytest.approx([0.3, 0.7], abs=0.02)


def test_loss_of_a_stair_is_what_removing_it_brings() -> None:
    fractions = healthy_groups()
    fractions[:6] = 0.5
    limited, sound = Truth(fractions, noise=0.0005), Truth(healthy_groups(), noise=0.0005)
    reading = read(limited)
    (v, i), (v0, i0) = limited.sweep(), sound.sweep()
    assert reading.stairs[0].loss == pytest.approx(np.max(v0 * i0) - np.max(v * i), rel=0.05)


def test_low_current_and_its_size() -> None:
    reading = read(Truth(healthy_groups(), current_scale=0.85))
    assert kinds(reading) == {"low_current"}
    assert reading.of_kind("low_current")[0].size == pytest.approx(0.15, abs=0.01)
    assert rank_causes(reading)[0].cause == "soiling"


def test_too_much_current_is_a_wrong_reading() -> None:
    reading = read(Truth(healthy_groups()), poa_read=700.0)
    assert kinds(reading) == {"inputs_suspect"}
    assert rank_causes(reading)[0].cause == "irradiance_input"


@pytest.mark.parametrize(("lost", "cause"), [(1, "bypass_short"), (3, "module_missing")])
def test_whole_groups_lost(lost: int, cause: str) -> None:
    reading = read(Truth(np.ones(48 - lost), lost_groups=lost))
    assert kinds(reading) == {"low_voltage"}
    assert reading.of_kind("low_voltage")[0].details["bypass_groups"] == lost
    assert rank_causes(reading)[0].cause == cause


@pytest.mark.parametrize("warmer", [-12.0, 15.0])
def test_a_wrong_temperature_is_no_fault(warmer: float) -> None:
    reading = read(Truth(healthy_groups()), warmer=warmer)
    assert rank_causes(reading)[0].cause == "temperature_input"
    assert reading.voltage.kelvin == pytest.approx(-warmer, abs=2.0)


def test_series_resistance_in_ohm() -> None:
    reading = read(Truth(healthy_groups(), series=4.0))
    assert kinds(reading) == {"slope_near_voc"}
    assert reading.of_kind("slope_near_voc")[0].size == pytest.approx(4.0, rel=0.15)
    assert rank_causes(reading)[0].cause == "series_resistance"


def test_shunt_of_all_modules_in_ohm() -> None:
    groups = healthy_groups()
    rsh = module_parameters(850.0, 45.0)[3]
    reading = read(Truth(groups, shunt_scale=np.full(groups.size, 0.1)))
    assert kinds(reading) == {"slope_near_isc"}
    extra = MODULES * rsh * 0.1 / 0.9
    assert reading.of_kind("slope_near_isc")[0].size == pytest.approx(extra, rel=0.2)
    assert rank_causes(reading)[0].cause == "shunt"


def test_shunt_of_a_few_modules() -> None:
    groups = healthy_groups()
    scale = np.ones(groups.size)
    scale[:9] = 0.03
    reading = read(Truth(groups, shunt_scale=scale))
    assert rank_causes(reading)[0].cause == "shunt"
    (leak,) = reading.of_kind("slope_near_isc")
    assert leak.details["bypass_groups"] == pytest.approx(9, abs=2)


def test_unequal_modules() -> None:
    """Most of thirty strings; a few look like a shunt, and the text says that they may."""
    told = []
    for seed in range(30):
        rng = np.random.default_rng(seed)
        fractions = np.repeat(1 + 0.05 * rng.standard_normal(MODULES), GROUPS)
        reading = read(Truth(fractions))
        first = rank_causes(reading)[0].cause
        assert first in ("module_mismatch", "shunt", "irradiance_input")
        if first == "module_mismatch":
            spread = float(np.std(fractions) / np.mean(fractions))
            told.append(reading.current_spread / spread)
    assert len(told) >= 23
    assert min(told) > 0.5
    assert max(told) < 1.5


def test_few_sound_strings_of_many_raise_an_alarm() -> None:
    """At most 1 of 100 sweeps with noise and reading errors within their limits."""
    rng = np.random.default_rng(3)
    alarms = 0
    for seed in range(100):
        poa, temperature = rng.uniform(500, 1100), rng.uniform(15, 65)
        truth = Truth(
            healthy_groups(int(rng.integers(1, 33))), poa, temperature,
            noise=rng.uniform(0.001, 0.005), points=int(rng.integers(50, 400)),
        )  # fmt: skip
        v, i = truth.sweep(seed)
        poa_read = poa * (1 + np.clip(rng.normal(0, 0.0125), -0.03, 0.03))
        read_at = temperature + np.clip(rng.normal(0, 0.75), -2, 2)
        predicted = DiodeParameters.of(*module_parameters(poa_read, read_at))
        to_read = SweepToRead(
            v, i, find_key_points(v, i).values,
            predicted.in_series(truth.fractions.size / GROUPS), truth.fractions.size,
            irradiance=poa_read,
        )  # fmt: skip
        reading = read_signatures([to_read])[0]
        alarms += bool(reading.signatures)
    assert alarms <= 1
