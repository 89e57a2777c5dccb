"""A quiz for the lesson: a random fault in field noise, to be named, and the answer's reasons."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from viewer.physics.cell_string.cell_fields import StringMakeup
from viewer.physics.cell_string.field_noise import NoiseSize, RecordedSweep, recorded_sweep
from viewer.physics.cell_string.scenario import Knob, Scenario
from viewer.physics.cell_string.simulate import HEALTHY, SimulatedString, simulate

IRRADIANCES = (600.0, 1050.0)
TEMPERATURES = (30.0, 65.0)
LEAST_TO_SEE = 0.015
"""A fault is drawn again while the curve differs by less from the healthy one, as a share of its
size: what a class cannot see it cannot learn from."""
DRAWS = 12
CURVE_POINTS = 160
TRIAL_POINTS = 60


@dataclass(frozen=True, eq=False)
class QuizQuestion:
    """What the class sees, the names to choose from, and the answer.

    `sweep` holds noisy points and the recorded conditions; `expected` is the healthy string at
    the recorded conditions; `answer` is the simulated string with its scenario and settings.
    """

    number: int
    seed: int
    sweep: RecordedSweep
    expected: SimulatedString
    choices: tuple[Scenario, ...]
    answer: SimulatedString

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why it is what it is, one sentence each; the first says what it was and how bad."""
        scenario = self.answer.scenario
        looks = scenario.telling_apart
        questions = (
            ("Does it move with the sun?", looks.moves_with_sun),
            ("Does it vanish when cleaned?", looks.vanishes_when_cleaned),
            ("What would an infrared picture show?", looks.infrared),
            ("What would a retest of single modules show?", looks.module_retest),
        )
        return (
            f"{scenario.name}: {settings_text(self.answer)}.",
            scenario.summary,
            *scenario.reasons,
            *(f"{question} {said}" for question, said in questions if said),
        )


@dataclass(frozen=True)
class QuizRow:
    """One answered question, as it is exported."""

    number: int
    seed: int
    answer: str
    chosen: str
    right: bool


def settings_text(sim: SimulatedString) -> str:
    """Severity and extent in words, such as "light lost in the shadow 60 %"."""
    scenario = sim.scenario
    parts = [_setting_text(scenario.severity, sim.severity)]
    if scenario.extent is not None and sim.extent is not None:
        parts.append(_setting_text(scenario.extent, sim.extent))
    return ", ".join(parts)


def _setting_text(knob: Knob, value: float) -> str:
    """A counting knob's label already says what is counted."""
    unit = "" if knob.whole else f" {knob.unit}"
    return f"{knob.label[0].lower()}{knob.label[1:]} {value:.3g}{unit}".rstrip()


def draw_question(
    scenarios: Mapping[str, Scenario],
    makeup: StringMakeup,
    seed: int,
    number: int = 1,
    choices: int = 4,
    noise: NoiseSize | None = None,
) -> QuizQuestion:
    """The question of that number of the quiz with that seed; the same two give the same one.

    `choices` names are offered, the right one among them, no two of one cause unless there are
    not enough causes. Raises ValueError without scenarios.
    """
    if not scenarios:
        raise ValueError("a quiz needs at least one scenario")
    rng = np.random.default_rng([seed, number])
    answer = _drawn_answer(list(scenarios.values()), makeup, rng)
    sweep = recorded_sweep(answer, int(rng.integers(2**31)), noise)
    expected = _healthy(makeup, sweep.poa_global, sweep.temperature_cell, CURVE_POINTS)
    offered = _drawn_choices(answer.scenario, list(scenarios.values()), choices, rng)
    return QuizQuestion(number, seed, sweep, expected, offered, answer)


def answered(question: QuizQuestion, chosen: str) -> QuizRow:
    """The row to keep when the class has chosen the scenario of that key."""
    key = question.answer.scenario.key
    return QuizRow(question.number, question.seed, key, chosen, chosen == key)


def score(rows: Sequence[QuizRow]) -> tuple[int, int]:
    """How many were right, of how many."""
    return sum(row.right for row in rows), len(rows)


def _drawn_answer(
    scenarios: list[Scenario], makeup: StringMakeup, rng: np.random.Generator
) -> SimulatedString:
    """A scenario at settings that can be seen; at the clearest that were drawn if none can."""
    scenario = scenarios[int(rng.integers(len(scenarios)))]
    poa = float(rng.uniform(*IRRADIANCES))
    temperature = float(rng.uniform(*TEMPERATURES))
    equal = replace(makeup, spread_seed=None)
    clearest: tuple[float, float | None] = (scenario.severity.start, None)
    seen = -1.0
    for _ in range(DRAWS):
        severity, extent = _drawn_settings(scenario, rng)
        sim = simulate(scenario, severity, poa, temperature, equal, extent, TRIAL_POINTS)
        healthy = _healthy(equal, sim.recorded_irradiance, sim.recorded_temperature, TRIAL_POINTS)
        difference = _difference(sim, healthy)
        if difference > seen:
            clearest, seen = (severity, extent), difference
        if scenario.cause == "none" or difference >= LEAST_TO_SEE:
            break
    severity, extent = clearest
    return simulate(scenario, severity, poa, temperature, makeup, extent, CURVE_POINTS)


def _drawn_settings(scenario: Scenario, rng: np.random.Generator) -> tuple[float, float | None]:
    severity = scenario.severity.at_share(float(rng.random()))
    if scenario.extent is None:
        return severity, None
    # Faults of small extent are the commoner ones.
    return severity, scenario.extent.at_share(float(rng.random()) ** 2)


def _healthy(
    makeup: StringMakeup, poa_global: float, temperature_cell: float, points: int
) -> SimulatedString:
    return simulate(HEALTHY, 0.0, poa_global, temperature_cell, makeup, None, points)


def _difference(sim: SimulatedString, healthy: SimulatedString) -> float:
    """Root mean square of the current's difference over the voltage, as a share of Isc."""
    voltage = np.linspace(0.0, 0.9 * healthy.voltage[-1], 80)
    one = np.interp(voltage, sim.voltage, sim.current)
    other = np.interp(voltage, healthy.voltage, healthy.current)
    return float(np.sqrt(np.mean((one - other) ** 2)) / healthy.current[0])


def _drawn_choices(
    right: Scenario, scenarios: list[Scenario], count: int, rng: np.random.Generator
) -> tuple[Scenario, ...]:
    others = [one for one in scenarios if one.key != right.key]
    order = [others[k] for k in rng.permutation(len(others))]
    causes = {right.cause}
    first: list[Scenario] = []
    later: list[Scenario] = []
    for one in order:
        (later if one.cause in causes else first).append(one)
        causes.add(one.cause)
    offered = [right, *(first + later)[: max(count - 1, 0)]]
    return tuple(offered[k] for k in rng.permutation(len(offered)))
