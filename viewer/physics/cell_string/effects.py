"""What a fault does to the cells of a string: one function a kind of effect.

Each takes the marks left so far and its arguments and gives new marks; `EFFECTS` names them for
scenario files. Where a fault sits is told by `modules` or `groups` (how many) and `at`: the
middle of the string, or its negative or positive end; groups are counted along the string.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from viewer.physics.cell_string.cell_fields import CellFields
from viewer.physics.cell_string.cells import BypassState

Array = NDArray[np.float64]
Arguments = Mapping[str, float | str]

PLACES = ("middle", "negative end", "positive end")
COLUMNS_IN_GROUP = 2
"""Columns of cells under one bypass diode, a module standing upright (common practice)."""


class EffectKind(NamedTuple):
    """The function of an effect, its arguments and those that may be left out."""

    apply: Callable[[CellFields, Arguments], CellFields]
    needed: tuple[str, ...]
    optional: tuple[str, ...] = ()


def _number(arguments: Arguments, name: str, otherwise: float = 0.0) -> float:
    return float(arguments.get(name, otherwise))


def _first(total: int, count: int, arguments: Arguments) -> int:
    """Where a run of `count` of `total` begins, at the place named by `at`."""
    at = str(arguments.get("at", "middle"))
    if at == "positive end":
        return 0
    if at == "negative end":
        return total - count
    return (total - count) // 2


def _run(total: int, wanted: float, arguments: Arguments) -> slice:
    count = round(min(max(wanted, 0.0), float(total)))
    first = _first(total, count, arguments)
    return slice(first, first + count)


def _modules(fields: CellFields, arguments: Arguments) -> NDArray[np.bool_]:
    """Which modules are meant, shape (modules,): all where none are counted."""
    chosen = np.zeros(fields.shape[0], dtype=bool)
    chosen[_run(fields.shape[0], _number(arguments, "modules", np.inf), arguments)] = True
    return chosen


def _groups(fields: CellFields, arguments: Arguments) -> NDArray[np.bool_]:
    """Which bypass groups are meant, shape (modules, groups)."""
    modules, groups = fields.shape[:2]
    if "groups" not in arguments:
        return np.repeat(_modules(fields, arguments)[:, None], groups, axis=1)
    chosen = np.zeros(modules * groups, dtype=bool)
    count = _number(arguments, "groups")
    first = _first(modules, int(np.ceil(count / groups)), arguments) * groups
    chosen[max(first, 0) : first + round(count)] = True
    return chosen.reshape(modules, groups)


def _cells(fields: CellFields, arguments: Arguments) -> NDArray[np.bool_]:
    """Which cells are meant, full shape; `cells` counts them in the first path of each group."""
    chosen = np.zeros(fields.shape, dtype=bool)
    paths = slice(0, 1) if "cells" in arguments or arguments.get("half") else slice(None)
    count = int(min(_number(arguments, "cells", np.inf), fields.shape[3]))
    chosen[:, :, paths, :count] = _groups(fields, arguments)[:, :, None, None]
    return chosen


def light(fields: CellFields, arguments: Arguments) -> CellFields:
    """Part of the light is missing. With `graded`, the loss grows from group to group."""
    loss = _number(arguments, "percent") / 100
    chosen = _cells(fields, arguments)
    share = np.where(chosen, loss, 0.0)
    if arguments.get("graded"):
        order = np.cumsum(_groups(fields, arguments).ravel()).reshape(fields.shape[:2])
        share = share * (order / max(int(order.max()), 1))[:, :, None, None]
    return replace(fields, light=fields.light * (1.0 - share))


def lower_edge(fields: CellFields, arguments: Arguments) -> CellFields:
    """Dirt in a wedge along the lower edge of every module, deepest in the lowest row of cells.

    Modules stand upright: the lowest cells of all groups, in a half-cut module of one path.
    """
    cells = fields.shape[3]
    loss = _number(arguments, "percent") / 100
    rows = min(int(_number(arguments, "rows", 1)), cells // COLUMNS_IN_GROUP)
    share = np.zeros(fields.shape)
    for row in range(rows):
        # Cells run up the first column and down the second.
        share[:, :, -1, [row, cells - 1 - row]] = loss * (1.0 - row / rows)
    share = np.where(_modules(fields, arguments)[:, None, None, None], share, 0.0)
    return replace(fields, light=fields.light * (1.0 - share))


def passing_band(fields: CellFields, arguments: Arguments) -> CellFields:
    """A band of shade that wanders along the string: `position` 0..100 % of the way.

    `width` in modules; a column of cells is shaded by the share of it the band covers.
    """
    modules, groups, paths, cells = fields.shape
    columns = modules * groups * COLUMNS_IN_GROUP
    width = _number(arguments, "width") * groups * COLUMNS_IN_GROUP
    start = _number(arguments, "position") / 100 * (columns - width)
    edges = np.arange(columns, dtype=float)
    covered = np.clip(np.minimum(edges + 1, start + width) - np.maximum(edges, start), 0.0, 1.0)
    covered = covered.reshape(modules, groups, 1, COLUMNS_IN_GROUP)
    of_cell = np.minimum(np.arange(cells) * COLUMNS_IN_GROUP // max(cells, 1), COLUMNS_IN_GROUP - 1)
    share = np.broadcast_to(covered[..., of_cell], (modules, groups, paths, cells))
    return replace(fields, light=fields.light * (1.0 - share * _number(arguments, "percent") / 100))


def warmer(fields: CellFields, arguments: Arguments) -> CellFields:
    """Cells that are warmer than the rest, by the sun on one end or air held back behind them."""
    rise = np.where(_cells(fields, arguments), _number(arguments, "kelvin"), 0.0)
    return replace(fields, warmer=fields.warmer + rise)


def current(fields: CellFields, arguments: Arguments) -> CellFields:
    """Cells give less current for the light they get: cracked, dead or aged."""
    share = np.where(_cells(fields, arguments), _number(arguments, "percent") / 100, 0.0)
    return replace(fields, current=fields.current * (1.0 - share))


def voltage(fields: CellFields, arguments: Arguments) -> CellFields:
    """Modules give less open-circuit voltage, by recombination in the junction."""
    chosen = _modules(fields, arguments)[:, None, None, None]
    share = np.where(chosen, _number(arguments, "percent") / 100, 0.0)
    return replace(fields, voltage=fields.voltage * (1.0 - share))


def series(fields: CellFields, arguments: Arguments) -> CellFields:
    """The modules' own series resistance has grown."""
    chosen = _modules(fields, arguments)[:, None, None, None]
    growth = np.where(chosen, _number(arguments, "percent") / 100, 0.0)
    return replace(fields, series=fields.series * (1.0 + growth))


def shunt(fields: CellFields, arguments: Arguments) -> CellFields:
    """A resistance across cells. With `graded`, it is met at the end named and fades inwards."""
    conductance = np.where(_cells(fields, arguments), 1.0 / _number(arguments, "ohm"), 0.0)
    if arguments.get("graded"):
        chosen = _modules(fields, arguments)
        order = np.cumsum(chosen) / max(int(chosen.sum()), 1)
        if arguments.get("at") != "negative end":
            order = 1.0 + 1.0 / max(int(chosen.sum()), 1) - order
        conductance = conductance * np.where(chosen, order, 0.0)[:, None, None, None]
    return replace(fields, shunt=fields.shunt + conductance)


def resistance(fields: CellFields, arguments: Arguments) -> CellFields:
    """Ohms in the string's own circuit: a connector, a clamp, a cable."""
    return replace(fields, resistance=fields.resistance + _number(arguments, "ohm"))


def _with_bypass(fields: CellFields, arguments: Arguments, state: BypassState) -> CellFields:
    bypass = np.where(_groups(fields, arguments), int(state), fields.bypass)
    return replace(fields, bypass=bypass)


def bypass_short(fields: CellFields, arguments: Arguments) -> CellFields:
    """Bypass diodes that have failed to a short circuit."""
    return _with_bypass(fields, arguments, BypassState.SHORT)


def bypass_open(fields: CellFields, arguments: Arguments) -> CellFields:
    """Bypass diodes that have failed open."""
    return _with_bypass(fields, arguments, BypassState.OPEN)


def missing(fields: CellFields, arguments: Arguments) -> CellFields:
    """Modules left out of the string; one at least stays."""
    gone = _modules(fields, arguments)
    gone[0] = gone[0] and not gone.all()
    return replace(fields, present=fields.present & ~gone)


def other_type(fields: CellFields, arguments: Arguments) -> CellFields:
    """Modules of another type: less current by `percent`, `size_percent` of the cells."""
    chosen = _modules(fields, arguments)[:, None, None, None]
    less = np.where(chosen, 1.0 - _number(arguments, "percent") / 100, 1.0)
    size = np.where(chosen, _number(arguments, "size_percent", 100.0) / 100, 1.0)
    return replace(fields, current=fields.current * less, size=fields.size * size)


def reading(fields: CellFields, arguments: Arguments) -> CellFields:
    """A sensor reads wrong: irradiance by a share, temperature by an amount."""
    factor = 1.0 + _number(arguments, "irradiance_percent") / 100
    return replace(
        fields,
        irradiance_reading=fields.irradiance_reading * factor,
        temperature_reading=fields.temperature_reading + _number(arguments, "temperature"),
    )


_WHERE = ("modules", "groups", "cells", "half", "at")

EFFECTS: dict[str, EffectKind] = {
    "light": EffectKind(light, ("percent",), (*_WHERE, "graded")),
    "lower_edge": EffectKind(lower_edge, ("percent",), ("rows", "modules", "at")),
    "passing_band": EffectKind(passing_band, ("percent", "position", "width")),
    "warmer": EffectKind(warmer, ("kelvin",), _WHERE),
    "current": EffectKind(current, ("percent",), _WHERE),
    "voltage": EffectKind(voltage, ("percent",), ("modules", "at")),
    "series": EffectKind(series, ("percent",), ("modules", "at")),
    "shunt": EffectKind(shunt, ("ohm",), (*_WHERE, "graded")),
    "resistance": EffectKind(resistance, ("ohm",)),
    "bypass_short": EffectKind(bypass_short, ("groups",), ("at",)),
    "bypass_open": EffectKind(bypass_open, ("groups",), ("at",)),
    "missing": EffectKind(missing, ("modules",), ("at",)),
    "other_type": EffectKind(other_type, ("modules", "percent"), ("size_percent", "at")),
    "reading": EffectKind(reading, (), ("irradiance_percent", "temperature")),
}
