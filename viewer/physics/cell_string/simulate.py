"""A scenario on a string at given conditions: its curve, and what happens inside it."""

from dataclasses import dataclass
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from viewer.physics.cell_string.cell_fields import (
    CellFields,
    StringMakeup,
    built_string,
    untouched,
)
from viewer.physics.cell_string.cells import CellString
from viewer.physics.cell_string.effects import EFFECTS
from viewer.physics.cell_string.group_states import GroupStates, group_states
from viewer.physics.cell_string.newton import Solution
from viewer.physics.cell_string.scenario import Effect, FromKnob, Knob, Scenario
from viewer.physics.cell_string.string_curve import solved_curve

Array = NDArray[np.float64]

HEALTHY = Scenario("healthy", "Healthy", "none", "", Knob("", "", 0.0, 1.0, 0.0), ())
"""No effect at all: the string as its datasheet says."""


@dataclass(frozen=True, eq=False)
class SimulatedString:
    """A solved string and what was asked of it.

    voltage [V] rises from 0 to open circuit, current [A], both (points,); `states` tells what
    each bypass group does at each point; `recorded_irradiance` and `recorded_temperature` are
    what the sensors would say, wrong if the scenario is one of a wrong sensor. `present` tells
    which of the modules as designed are there.
    """

    scenario: Scenario
    severity: float
    extent: float | None
    poa_global: float
    temperature_cell: float
    string: CellString
    solution: Solution
    states: GroupStates
    present: NDArray[np.bool_]
    recorded_irradiance: float
    recorded_temperature: float

    @property
    def voltage(self) -> Array:
        return self.solution.voltage

    @property
    def current(self) -> Array:
        return self.solution.current

    def point_at_current(self, current: float) -> int:
        """Index of the point nearest to a current [A]."""
        return int(np.argmin(np.abs(self.solution.current - current)))

    def point_at_voltage(self, voltage: float) -> int:
        """Index of the point nearest to a voltage [V]."""
        return int(np.argmin(np.abs(self.solution.voltage - voltage)))


def simulate(
    scenario: Scenario,
    severity: float,
    poa_global: float,
    temperature_cell: float,
    makeup: StringMakeup,
    extent: float | None = None,
    points: int = 200,
) -> SimulatedString:
    """Lay a scenario over a string at irradiance [W/m²] and cell temperature [°C].

    severity and extent are held to their knobs' ranges; without an extent its start is taken.
    Raises ValueError where there is no light.
    """
    if not poa_global > 0:
        raise ValueError("a string is simulated with irradiance above 0 W/m²")
    severe, wide = held_settings(scenario, severity, extent)
    fields = marks(scenario, severe, wide, makeup)
    string = built_string(makeup, fields, poa_global, temperature_cell)
    solution = solved_curve(string, points)
    return SimulatedString(
        scenario,
        severe,
        wide,
        poa_global,
        temperature_cell,
        string,
        solution,
        group_states(solution),
        fields.present,
        poa_global * fields.irradiance_reading,
        temperature_cell + fields.temperature_reading,
    )


def marks(
    scenario: Scenario, severity: float, extent: float | None, makeup: StringMakeup
) -> CellFields:
    """What the scenario's effects leave on the cells of that string, and on the readings."""
    return reduce(
        lambda fields, effect: _applied(fields, effect, severity, extent),
        scenario.effects,
        untouched(makeup),
    )


def held_settings(
    scenario: Scenario, severity: float, extent: float | None
) -> tuple[float, float | None]:
    """Both settings brought into their knobs' ranges; the extent's start where none is given."""
    knob = scenario.extent
    if knob is None:
        return scenario.severity.held(severity), None
    return scenario.severity.held(severity), knob.held(knob.start if extent is None else extent)


def _applied(
    fields: CellFields, effect: Effect, severity: float, extent: float | None
) -> CellFields:
    def number(value: float | str | FromKnob) -> float | str:
        if not isinstance(value, FromKnob):
            return value
        setting = severity if value.setting == "severity" else extent
        return value.times * (setting if setting is not None else 0.0)

    arguments = {name: number(value) for name, value in effect.values.items()}
    return EFFECTS[effect.kind].apply(fields, arguments)
