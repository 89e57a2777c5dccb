"""What the shape of one sweep shows: its signatures, with sizes and what each costs."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from viewer.analysis.signatures.lost_groups import with_lost_groups
from viewer.analysis.signatures.signature_choice import (
    STAIRS,
    Choice,
    choose_explanation,
    problem_of,
)
from viewer.analysis.signatures.signature_reading import (
    InputUncertainty,
    SignatureReading,
    Situation,
)
from viewer.analysis.signatures.signature_sizes import SignatureSizes
from viewer.analysis.signatures.stair_plateau import plateau_between
from viewer.analysis.signatures.sweep_problem import Problem
from viewer.analysis.signatures.usual_string import usual_string
from viewer.analysis.string_fit.lone_readings import lone_readings
from viewer.analysis.string_fit.reduced_string import Array, Reference, reference_of, stair_count
from viewer.analysis.string_fit.signature_fit import Sweep
from viewer.analysis.string_fit.sweep_noise import sweep_noise
from viewer.analysis.string_fit.taking_turns import answered, side_by_side
from viewer.analysis.string_fit.thinned_sweep import thinned
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.single_diode import DiodeParameters

FEWEST_POINTS = 8


@dataclass(frozen=True, eq=False)
class SweepToRead:
    """A clean sweep (voltage [V] rising, current [A], shape (n,)) with what it is read against.

    `predicted` holds the whole string's five parameters (numbers) at the sweep's conditions;
    `bypass_groups` is modules in series times bypass diodes, `bypass_diodes` those of a module; of
    modules without any (0) each is a group;
    `parallel_paths` 2 for half-cut modules; `predicted_p_mp` [W] is computed when not given;
    with the `irradiance` [W/m²] of the prediction voltage and resistance are read more sharply.
    """

    voltage: Array
    current: Array
    key_points: KeyPoints
    predicted: DiodeParameters
    bypass_groups: int
    bypass_diodes: int = 3
    parallel_paths: int = 1
    uncertainty: InputUncertainty = field(default_factory=InputUncertainty)
    predicted_p_mp: float | None = None
    irradiance: float | None = None

    @property
    def situation(self) -> Situation:
        return Situation(
            self.key_points,
            self.uncertainty,
            max(self.bypass_diodes, 1),
            self.parallel_paths,
            self.irradiance,
            self.predicted_p_mp,
            self.bypass_diodes > 0,
        )


def read_signatures(given: Sequence[SweepToRead]) -> list[SignatureReading]:
    """The signatures of each sweep, in their order.

    Raises ValueError for a sweep of fewer than 8 points or a prediction that is not finite.
    """
    return answered(_reading(one) for one in given)


def _problem(one: SweepToRead) -> Problem:
    groups = max(one.bypass_groups, 1)
    reference, sweep = prepare(one.voltage, one.current, one.predicted, groups)
    return problem_of(reference, sweep, usual_string(groups, one.situation), one.parallel_paths)


async def _reading(one: SweepToRead) -> SignatureReading:
    choice = await choose_explanation(_problem(one))
    choice, lost = await with_lost_groups(choice, one.situation)
    plateaus = await _plateaus(choice)
    return await SignatureSizes(choice, lost, one.situation, plateaus).reading()


async def _plateaus(choice: Choice) -> list[float]:
    """The current of each stair's plateau over the string's."""
    fit = choice.fit
    stairs = range(stair_count(fit.vector) if choice.explanation == STAIRS else 0)
    return await side_by_side(plateau_between(choice.problem, fit, stair) for stair in stairs)


def too_short(points: int) -> str:
    """Why a sweep of so many points cannot be read; "" where it can."""
    if points >= FEWEST_POINTS:
        return ""
    return (
        f"A sweep of {points} points is too short to read its shape; {FEWEST_POINTS} are the least."
    )


def why_unreadable(points: int, predicted: DiodeParameters) -> str:
    """Why a sweep of so many points cannot be read against what is predicted; "" where it can."""
    if short := too_short(points):
        return short
    above_zero = (predicted.photocurrent, predicted.saturation_current, predicted.nNsVth)
    known = all(0.0 < float(one) < math.inf for one in above_zero)
    leaks = float(predicted.resistance_shunt) > 0.0
    if known and leaks and math.isfinite(float(predicted.resistance_series)):
        return ""
    return "The predicted curve has no finite parameters, so nothing to compare."


def prepare(
    voltage: Array, current: Array, predicted: DiodeParameters, bypass_groups: int
) -> tuple[Reference, Sweep]:
    """The prediction and the sweep in the prediction's units, without single readings far off."""
    if unreadable := why_unreadable(voltage.size, predicted):
        raise ValueError(unreadable)
    reference = reference_of(predicted, bypass_groups)
    kept = ~lone_readings(current)
    v = voltage[kept] / reference.voltage_unit
    i = current[kept] / reference.current_unit
    noise_voltage, noise_current = sweep_noise(v, i)
    return reference, thinned(v, i, noise_voltage, noise_current)
