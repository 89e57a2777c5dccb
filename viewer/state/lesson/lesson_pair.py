"""Two scenarios held side by side on the lesson's string, under its sun and temperature."""

from dataclasses import replace

from viewer.physics.cell_string.simulate import SimulatedString, held_settings, simulate
from viewer.state.lesson.lesson import Lesson, Setting
from viewer.state.program.notifier import Value

FIRST = (("hard_shade", 60.0, 3.0), ("dead_cell", 100.0, 3.0))
"""What is shown first: shade and dead cells of one extent, the pair that is confused most often
(common practice, no source); half a half-cut group is lost with a whole cell."""


class LessonPair:
    """`sides` holds both settings; irradiance and temperature are the lesson's."""

    def __init__(self, lesson: Lesson) -> None:
        self.lesson = lesson
        known = lesson.scenarios
        self.sides: tuple[Value[Setting], Value[Setting]] = (
            Value(Setting(known[FIRST[0][0]], *FIRST[0][1:])),
            Value(Setting(known[FIRST[1][0]], *FIRST[1][1:])),
        )

    def choose(self, side: int, key: str) -> None:
        """Another scenario on one side, as far-reaching as the one before where it can be."""
        before = self.sides[side].value
        scenario = self.lesson.scenarios[key]
        if scenario.key == before.scenario.key:
            return
        start = Setting.start_of(scenario)
        if scenario.extent is not None and before.extent is not None and scenario.extent.whole:
            start = replace(start, extent=scenario.extent.held(before.extent))
        self.sides[side].value = start

    def change(self, side: int, **fields: float) -> None:
        """Set severity or extent of one side, held to their ranges."""
        changed = replace(self.sides[side].value, **fields)  # type: ignore[arg-type]
        severity, extent = held_settings(changed.scenario, changed.severity, changed.extent)
        self.sides[side].value = replace(changed, severity=severity, extent=extent)

    def simulated(self, side: int) -> SimulatedString:
        """Raises ValueError or RuntimeError where the settings give no curve."""
        setting, now = self.sides[side].value, self.lesson.setting.value
        return simulate(
            setting.scenario,
            setting.severity,
            now.poa_global,
            now.temperature_cell,
            self.lesson.string.value.makeup,
            setting.extent,
        )
