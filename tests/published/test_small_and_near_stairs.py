"""What only shows beside everything a string may otherwise be: small, near and mixed stairs.

Truth as in test_findings_on_pvlib_strings: pvlib's `v_from_i` for every bypass group. Limited
single cells are cells of pvlib's module in series with the rest of their group, each cell a
device of its own with the module's shunt shared out among its 60 cells.
"""

import numpy as np
import pvlib
import pytest

from tests.published.test_findings_on_pvlib_strings import (
    GROUPS,
    Truth,
    healthy_groups,
    kinds,
    module_parameters,
    read,
    voltage_per_kelvin,
)
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.signatures.signature_reading import (
    InputUncertainty,
    SignatureReading,
    StairReading,
)
from viewer.analysis.signatures.signatures import SweepToRead, read_signatures
from viewer.analysis.signatures.sweep_problem import Problem
from viewer.analysis.signatures.voltage_reading import read_voltage
from viewer.analysis.string_fit.reduced_string import CELLS as CELLS_PLACE
from viewer.analysis.string_fit.reduced_string import FRACTION, KNEE, stair_place
from viewer.analysis.string_fit.reduced_string import GROUPS as GROUPS_PLACE
from viewer.analysis.string_fit.signature_fit import Fit
from viewer.physics.measured_sweep.key_points import find_key_points
from viewer.physics.single_diode import DiodeParameters

CELLS = 60
POA, TEMPERATURE = 800.0, 40.0


def with_one_limited_cell(modules: int, fraction: float) -> tuple[np.ndarray, np.ndarray]:
    """Voltage and current of a string with one cell that carries only `fraction`."""
    il, i0, rs, rsh, a = module_parameters(POA, TEMPERATURE)
    current = np.linspace(0.0, 1.001 * il, 3000)

    def cell(photocurrent: float) -> np.ndarray:
        """A cell's voltage; below its diode's reach only the shunt carries the difference."""
        volts = pvlib.pvsystem.v_from_i(
            current, photocurrent, i0, rs / CELLS, rsh / CELLS, a / CELLS, method="lambertw"
        )
        reverse = (photocurrent - i0 - current) * rsh / CELLS - current * rs / CELLS
        return np.where(current < photocurrent, volts, reverse)

    sound = cell(il)
    whole = np.maximum(sound * CELLS / GROUPS, -0.5)
    faulty = np.maximum(sound * (CELLS / GROUPS - 1) + cell(il * fraction), -0.5)
    voltage = whole * (modules * GROUPS - 1) + faulty
    keep = np.isfinite(voltage) & (voltage >= 0.0)
    return voltage[keep][::-1], current[keep][::-1]


def read_noisy(
    v_all: np.ndarray,
    i_all: np.ndarray,
    modules: int,
    seed: int,
    points: int = 200,
    noise: float = 0.002,
    warmer: float = 0.0,
) -> SignatureReading:
    """As measured with noise in both quantities and a temperature read `warmer` than it is."""
    rng = np.random.default_rng(seed)
    v = np.linspace(0.003, 1.0, points) * v_all[-1]
    i = np.interp(v, v_all, i_all)
    v = np.sort(v * (1 + 0.5 * noise * rng.standard_normal(v.size)))
    i = i + noise * i.max() * rng.standard_normal(v.size)
    read_at = module_parameters(POA, TEMPERATURE + warmer)
    predicted = DiodeParameters.of(*read_at).in_series(modules)
    known = InputUncertainty(voltage_per_kelvin=voltage_per_kelvin(POA, TEMPERATURE))
    key_points = find_key_points(v, i).values
    to_read = SweepToRead(
        v, i, key_points, predicted, modules * GROUPS, uncertainty=known, irradiance=POA
    )
    return read_signatures([to_read])[0]


def _at(stair: StairReading) -> float:
    return stair.current_fraction


@pytest.mark.parametrize("modules", [1, 2, 8, 24])
@pytest.mark.parametrize("fraction", [0.0, 0.45])
def test_one_limited_cell_is_seen_in_short_and_long_strings(modules: int, fraction: float) -> None:
    v, i = with_one_limited_cell(modules, fraction)
    seen = 0
    for seed in range(5):
        reading = read_noisy(v, i, modules, seed)
        first = rank_causes(reading)[0].cause
        seen += [s.bypass_groups for s in reading.stairs] == [1] and first in (
            "cell_fault",
            "shading",
        )
    assert seen >= 4


def test_a_dead_cell_is_no_lower_voltage_where_the_temperature_hides_it() -> None:
    """A group's voltage is missing from the smallest current on, a kelvin's is gained."""
    v, i = with_one_limited_cell(24, 0.0)
    readings = [read_noisy(v, i, 24, seed, 60, 0.004, warmer=-1.0) for seed in range(6)]
    found = [[s.bypass_groups for s in one.stairs] for one in readings]
    assert found.count([1]) >= 4


def test_a_sound_cell_in_its_place_is_none() -> None:
    v, i = with_one_limited_cell(24, 1.0)
    assert all(read_noisy(v, i, 24, seed).signatures == () for seed in range(10))


@pytest.mark.parametrize(("lower", "upper"), [((3, 0.30), (4, 0.42)), ((5, 0.55), (2, 0.70))])
def test_two_near_stairs_stay_two(lower: tuple[int, float], upper: tuple[int, float]) -> None:
    fractions = healthy_groups()
    fractions[: lower[0]] = lower[1]
    fractions[lower[0] : lower[0] + upper[0]] = upper[1]
    reading = read(Truth(fractions))
    found = sorted((s.current_fraction, s.bypass_groups) for s in reading.stairs)
    assert [groups for _, groups in found] == [lower[0], upper[0]]
    assert [at for at, _ in found] == pytest.approx([lower[1], upper[1]], abs=0.02)


def test_nearer_stairs_are_rarely_taken_for_one() -> None:
    """At 0.06 of the current apart, from different noise."""
    fractions = healthy_groups()
    fractions[:3], fractions[3:6] = 0.70, 0.76
    found = [read(Truth(fractions, noise=0.003), seed=seed).stairs for seed in range(6)]
    assert sum([s.bypass_groups for s in sorted(f, key=_at)] == [3, 3] for f in found) >= 5


def test_one_stair_is_not_parted() -> None:
    fractions = healthy_groups()
    fractions[:6] = 0.73
    found = [read(Truth(fractions, noise=0.003), seed=seed).stairs for seed in range(6)]
    assert [[s.bypass_groups for s in one] for one in found] == [[6]] * 6


def test_a_fit_that_went_astray_starts_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """From a start that no descent of a few steps leaves the groups are still fitted."""
    given: list[float] = []

    def astray(problem: Problem, fit: Fit) -> tuple[np.ndarray, np.ndarray]:
        start = fit.vector.copy()
        start[stair_place(0, GROUPS_PLACE)] = 7 / problem.groups
        start[[stair_place(0, FRACTION), stair_place(0, CELLS_PLACE)]] = -0.02, 0.004
        start[KNEE] = -0.5
        given.append(fit.total)
        return start[None, :], np.zeros(1)

    monkeypatch.setattr("viewer.analysis.signatures.whole_groups._likely_starts", astray)
    fractions = healthy_groups()
    fractions[:7] = 0.6
    reading = read(Truth(fractions))
    assert given
    assert [s.bypass_groups for s in reading.stairs] == [7]
    assert reading.stairs[0].current_fraction == pytest.approx(0.6, abs=0.02)
    assert reading.roughness < 1.3


def test_a_stair_beside_a_series_resistance_keeps_its_groups() -> None:
    fractions = healthy_groups()
    fractions[:7] = 0.6
    reading = read(Truth(fractions, series=6.0))
    assert [s.bypass_groups for s in reading.stairs] == [7]
    assert kinds(reading) == {"step", "slope_near_voc"}


@pytest.mark.parametrize("lost", [1, 2])
def test_lost_groups_beside_a_stair(lost: int) -> None:
    fractions = np.ones(GROUPS * 20 - lost)
    fractions[:6] = 0.5
    reading = read(Truth(fractions, lost_groups=lost))
    assert [s.bypass_groups for s in reading.stairs] == [6]
    assert reading.voltage.significant
    assert reading.voltage.groups == lost


def test_lost_groups_are_told_where_they_are_likelier_than_a_sound_string() -> None:
    """One of 90 groups, 0.84 of its voltage missed: neither is certain, the likelier counts."""
    likelier = read_voltage(0.84 / 90, 0.0036, 90, 3, -0.003)
    assert 0.30 < likelier.probability_healthy < likelier.probability_groups
    assert likelier.significant
    assert likelier.groups == 1
    not_so = read_voltage(0.70 / 90, 0.0036, 90, 3, -0.003)
    assert not_so.probability_groups < not_so.probability_healthy
    assert not not_so.significant
