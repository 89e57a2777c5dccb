"""What every bypass group of a simulated string does at one point, as a schematic shows it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.cell_string.group_states import GroupState
from viewer.physics.cell_string.simulate import SimulatedString
from viewer.physics.nomenclature import counted

Array = NDArray[np.float64]

STATE_WORDS: dict[GroupState, str] = {
    GroupState.CONDUCTING: "conducting",
    GroupState.BYPASSED: "bypassed",
    GroupState.REVERSE: "reverse-biased",
}
ABSENT = -1
"""State of the groups of a module that is not there."""


LEAST_HEAT = 0.5
"""Less heat in a cell than this [W] is not worth a word."""


@dataclass(frozen=True, eq=False)
class StringView:
    """Arrays of shape (modules as designed, groups); absent modules carry ABSENT and NaN.

    state: `GroupState`; voltage [V] across the group; bypass_current [A]; heat [W] of its
    hottest cell beyond its light, below zero while it delivers; reverse_cells in reverse.
    """

    state: NDArray[np.int64]
    voltage: Array
    bypass_current: Array
    heat: Array
    reverse_cells: Array
    string_voltage: float
    string_current: float

    def count(self, state: int) -> int:
        return int((self.state == state).sum())

    def hottest(self) -> tuple[int, int, float] | None:
        """Module and group, both from 0, with the hottest cell, and its heat [W] if it heats."""
        heat = np.where(np.isfinite(self.heat), self.heat, -np.inf)
        module, group = np.unravel_index(int(np.argmax(heat)), heat.shape)
        found = float(heat[module, group])
        return (int(module), int(group), found) if found >= LEAST_HEAT else None

    def sentence(self) -> str:
        """The point and the string in one line."""
        power = self.string_voltage * self.string_current
        parts = [f"{self.count(state)} {words}" for state, words in STATE_WORDS.items()]
        hot = self.hottest()
        text = (
            f"{self.string_voltage:.0f} V, {self.string_current:.2f} A, {power / 1000:.2f} kW. "
            f"Bypass groups: {', '.join(parts)}."
        )
        if hot is not None:
            text += f" Hottest cell: {hot[2]:.0f} W in module {hot[0] + 1}, group {hot[1] + 1}."
        return text

    def group_sentence(self, module: int, group: int) -> str:
        """One group in words."""
        name = f"Module {module + 1}, group {group + 1}"
        state = int(self.state[module, group])
        if state == ABSENT:
            return f"{name}: the module is missing."
        text = f"{name}: {STATE_WORDS[GroupState(state)]}, {self.voltage[module, group]:.1f} V"
        bypass = float(self.bypass_current[module, group])
        if state == GroupState.BYPASSED:
            text += f", {bypass:.2f} A past its cells"
        cells = int(self.reverse_cells[module, group])
        if cells:
            text += f", {counted(cells, 'cell')} in reverse"
        heat = float(self.heat[module, group])
        if heat >= LEAST_HEAT:
            text += f", hottest cell {heat:.0f} W"
        return text + "."


def string_view(sim: SimulatedString, point: int) -> StringView:
    """The string at one point of its curve."""
    states = sim.states

    def laid_out(values: NDArray[np.generic], absent: float) -> Array:
        (grid,) = states.over_string(values, point)
        over_all = np.full((len(sim.present), grid.shape[1]), absent)
        over_all[sim.present] = grid
        return over_all

    return StringView(
        laid_out(states.state, ABSENT).astype(np.int64),
        laid_out(states.voltage, np.nan),
        laid_out(states.bypass_current, np.nan),
        laid_out(states.hottest_cell_power, np.nan),
        laid_out(states.reverse_cells, 0.0),
        float(sim.voltage[point]),
        float(sim.current[point]),
    )


def next_change(sim: SimulatedString, module: int, group: int, after: int) -> int | None:
    """The next point, begun anew at the end, at which that group does something else.

    None for a group that does the same all along the curve and for an absent module.
    """
    if not sim.present[module]:
        return None
    (kinds,) = sim.states.group_kind
    kind = int(kinds[int(sim.present[:module].sum()), group])
    changes = np.flatnonzero(np.diff(sim.states.state[kind])) + 1
    if not len(changes):
        return None
    later = changes[changes > after]
    return int(later[0] if len(later) else changes[0])
