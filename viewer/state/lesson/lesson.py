"""The lesson: a scenario on a string at chosen settings, its curve, the cursor, curves kept."""

from dataclasses import dataclass, replace

import numpy as np

from viewer.physics.cell_string.scenario import Knob, Scenario
from viewer.physics.cell_string.severity_fit import SeverityFit
from viewer.physics.cell_string.simulate import (
    HEALTHY,
    SimulatedString,
    held_settings,
    simulate,
)
from viewer.site_data.scenario_file import scenarios
from viewer.state.lesson.lesson_strings import LessonString, invented_strings
from viewer.state.lesson.scenario_words import settings_line
from viewer.state.program.notifier import Notifier, Value

IRRADIANCE = Knob("Irradiance", "W/m²", 50.0, 1200.0, 900.0)
TEMPERATURE = Knob("Cell temperature", "°C", -10.0, 85.0, 50.0)
POINTS = 200
MOST_KEPT = 5
REMEMBERED = 8
"""Healthy curves remembered, so that one is not solved again while only a fault changes."""
TAGS = "ABCDE"


@dataclass(frozen=True)
class Setting:
    """What the sliders say; poa_global [W/m²], temperature_cell [°C]."""

    scenario: Scenario
    severity: float
    extent: float | None
    poa_global: float = IRRADIANCE.start
    temperature_cell: float = TEMPERATURE.start

    @classmethod
    def start_of(cls, scenario: Scenario) -> "Setting":
        extent = scenario.extent.start if scenario.extent else None
        return cls(scenario, scenario.severity.start, extent)


@dataclass(frozen=True, eq=False)
class KeptCurve:
    """A curve kept for comparison; `slot` picks its letter and style."""

    slot: int
    simulated: SimulatedString
    string_title: str

    @property
    def tag(self) -> str:
        return TAGS[self.slot]

    @property
    def text(self) -> str:
        return settings_line(self.simulated)


class Lesson:
    """What the lesson desk shows; `renewed` speaks when the curve has become another."""

    def __init__(self) -> None:
        self.scenarios = scenarios()
        self.strings: Value[tuple[LessonString, ...]] = Value(invented_strings())
        self.string: Value[LessonString] = Value(self.strings.value[0])
        first = self.scenarios.get("hard_shade") or next(iter(self.scenarios.values()))
        self.setting: Value[Setting] = Value(Setting.start_of(first))
        self.kept: Value[tuple[KeptCurve, ...]] = Value(())
        self.cursor: Value[float | None] = Value(None)
        """Voltage of the cursor [V]; None keeps it at the maximum power point."""
        self.big: Value[bool] = Value(False)
        """Large letters and thick lines, for a projector."""
        self.renewed = Notifier()
        self.problem = ""
        """Why the last settings gave no curve; the curve before them is still shown."""
        self._healthy: dict[object, SimulatedString] = {}
        self._simulate()
        self.setting.changed.connect(self._renew)
        self.string.changed.connect(self._renew)

    def choose(self, key: str) -> None:
        """Another scenario, at its starting severity; sun and temperature stay."""
        scenario = self.scenarios[key]
        if scenario.key != self.setting.value.scenario.key:
            now = self.setting.value
            self.setting.value = replace(
                Setting.start_of(scenario),
                poa_global=now.poa_global,
                temperature_cell=now.temperature_cell,
            )

    def change(self, **fields: float) -> None:
        """Set severity, extent, poa_global or temperature_cell, held to their ranges."""
        changed = replace(self.setting.value, **fields)  # type: ignore[arg-type]
        severity, extent = held_settings(changed.scenario, changed.severity, changed.extent)
        self.setting.value = replace(
            changed,
            severity=severity,
            extent=extent,
            poa_global=IRRADIANCE.held(changed.poa_global),
            temperature_cell=TEMPERATURE.held(changed.temperature_cell),
        )

    def choose_string(self, string: LessonString) -> None:
        """Another string; one whose datasheet cannot be used is refused, and `problem` says why."""
        try:
            _ = string.makeup
        except ValueError as problem:
            self.problem = f"{string.title} cannot be simulated: {problem}"
            self.renewed.notify()
            return
        self.string.value = string

    def offer(self, string: LessonString | None) -> None:
        """Have a site's string among those to choose from; the one in use stays as well."""
        offered = list(invented_strings_of(self.strings.value))
        if self.string.value not in offered:
            offered.append(self.string.value)
        if string is not None and string.title not in [one.title for one in offered]:
            offered.append(string)
        self.strings.value = tuple(offered)

    def take(self, fit: SeverityFit, string: LessonString) -> None:
        """Show a fitted scenario on its string, at the conditions it was fitted at."""
        self.strings.value = (*invented_strings_of(self.strings.value), string)
        with self.string.changed.held():
            self.string.value = string
        sim = fit.simulated
        before = self.setting.value
        self.setting.value = Setting(
            fit.scenario, fit.severity, fit.extent, sim.poa_global, sim.temperature_cell
        )
        self.string.changed.notify(string)
        if self.setting.value is before:
            self._renew()

    def _simulate(self) -> None:
        now = self.setting.value
        simulated = simulate(
            now.scenario,
            now.severity,
            now.poa_global,
            now.temperature_cell,
            self.string.value.makeup,
            now.extent,
            POINTS,
        )
        self.expected = self.expected_for(simulated)
        self.simulated = simulated

    def _renew(self, *_: object) -> None:
        try:
            self._simulate()
            self.problem = ""
        except (ValueError, RuntimeError) as problem:
            self.problem = f"No curve at these settings: {problem}"
        self.renewed.notify()

    def expected_for(self, sim: SimulatedString) -> SimulatedString:
        """The healthy string at the conditions recorded with a curve of the lesson's string."""
        string = self.string.value
        irradiance, temperature = sim.recorded_irradiance, sim.recorded_temperature
        key = (string, irradiance, temperature)
        if key not in self._healthy:
            if len(self._healthy) >= REMEMBERED:
                self._healthy.clear()
            self._healthy[key] = simulate(
                HEALTHY, 0.0, irradiance, temperature, string.makeup, None, POINTS
            )
        return self._healthy[key]

    @property
    def point(self) -> int:
        """Index of the cursor's point on the curve."""
        if self.cursor.value is None:
            return maximum_power_point(self.simulated)
        return self.simulated.point_at_voltage(self.cursor.value)

    def point_to(self, point: int) -> None:
        """Put the cursor on a point of the curve, held to the curve's ends."""
        voltage = self.simulated.voltage
        self.cursor.value = float(voltage[min(max(point, 0), len(voltage) - 1)])

    def keep(self) -> KeptCurve | None:
        """Keep the curve as it is now; None when as many are kept as can be told apart."""
        taken = {one.slot for one in self.kept.value}
        free = [slot for slot in range(MOST_KEPT) if slot not in taken]
        if not free:
            return None
        kept = KeptCurve(free[0], self.simulated, self.string.value.title)
        self.kept.value = (*self.kept.value, kept)
        return kept

    def drop(self, slot: int) -> None:
        self.kept.value = tuple(one for one in self.kept.value if one.slot != slot)


def invented_strings_of(strings: tuple[LessonString, ...]) -> tuple[LessonString, ...]:
    """Those that are no string of a site."""
    return tuple(one for one in strings if one.layout is None)


def maximum_power_point(sim: SimulatedString) -> int:
    return int(np.argmax(sim.voltage * sim.current))
