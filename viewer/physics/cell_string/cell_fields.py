"""A string on which effects have left their marks, cell by cell, before it is solved."""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from viewer.physics.cell_string.cells import (
    BypassDiode,
    BypassState,
    CellBlock,
    CellString,
    ModuleWiring,
    ReverseBreakdown,
)
from viewer.physics.cell_string.module_spread import (
    drawn_spread,
    saturation_factor,
    with_spread,
)
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.single_diode import DiodeParameters

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class StringMakeup:
    """A string as designed: its module type, how many in series, cable resistance [ohm].

    `spread_seed` draws how its modules differ; None makes them equal.
    """

    model: ModuleModel
    modules_in_series: int
    wiring: ModuleWiring
    resistance: float = 0.0
    diode: BypassDiode = field(default_factory=BypassDiode)
    breakdown: ReverseBreakdown = field(default_factory=ReverseBreakdown)
    spread_seed: int | None = None

    def __post_init__(self) -> None:
        if self.modules_in_series < 1:
            raise ValueError("a string has at least one module in series")


@dataclass(frozen=True, eq=False)
class CellFields:
    """The marks: factors and additions, each of a shape that broadcasts to the cells.

    light: share of the light that is left; warmer: temperature above the string's [K];
    current: share of the photocurrent left; voltage: factor on Voc; series: factor on series
    resistance; shunt: conductance added across each cell [S]; size: factor on cells in series,
    for a module of another type;
    bypass: `BypassState` (modules, groups); present: which modules are still there;
    resistance: added to the string [ohm]. The two readings change only what sensors say.
    """

    shape: tuple[int, int, int, int]
    light: Array
    warmer: Array
    current: Array
    voltage: Array
    series: Array
    shunt: Array
    size: Array
    bypass: NDArray[np.int64]
    present: NDArray[np.bool_]
    resistance: float = 0.0
    irradiance_reading: float = 1.0
    """Factor on the irradiance that is recorded."""
    temperature_reading: float = 0.0
    """Added to the temperature that is recorded, K."""


def untouched(makeup: StringMakeup) -> CellFields:
    """The string as it should be."""
    shape = (makeup.modules_in_series, *makeup.wiring.shape)
    one = np.ones((1, 1, 1, 1))
    return CellFields(
        shape,
        light=one,
        warmer=np.zeros((1, 1, 1, 1)),
        current=one,
        voltage=one,
        series=one,
        shunt=np.zeros((1, 1, 1, 1)),
        size=one,
        bypass=np.full(shape[:2], BypassState.GOOD, dtype=np.int64),
        present=np.ones(shape[0], dtype=bool),
    )


def built_string(
    makeup: StringMakeup, fields: CellFields, poa_global: float, temperature_cell: float
) -> CellString:
    """The string of cells at irradiance [W/m²] and cell temperature [°C], marks and all."""
    at = makeup.model.operating(poa_global * fields.light, temperature_cell + fields.warmer)
    sized = DiodeParameters.of(
        at.photocurrent * fields.current,
        at.saturation_current,
        at.resistance_series * fields.size * fields.series,
        at.resistance_shunt * fields.size,
        at.nNsVth * fields.size,
    )
    block = CellBlock.from_modules(
        DiodeParameters(*(_per_module(x, fields.shape[0]) for x in sized.as_tuple())),
        makeup.wiring,
        makeup.diode,
        makeup.breakdown,
    )
    if (fields.voltage != 1.0).any():
        grown = block.saturation_current * saturation_factor(block, fields.voltage)
        block = replace(block, saturation_current=np.broadcast_to(grown, block.shape))
    if makeup.spread_seed is not None:
        block = with_spread(block, drawn_spread(fields.shape[0], makeup.spread_seed))
    if fields.shunt.any():
        with np.errstate(divide="ignore"):
            block = block.with_shunts(1.0 / fields.shunt)
    block = replace(block, bypass=fields.bypass)
    if not fields.present.all():
        block = block[fields.present]
    return CellString((block,), makeup.resistance + fields.resistance)


def _per_module(values: Array, modules: int) -> Array:
    """Values of four dimensions with the first as long as there are modules."""
    wide = np.asarray(values, dtype=float)
    if wide.ndim < 4:
        wide = wide.reshape((1,) * (4 - wide.ndim) + wide.shape)
    return np.broadcast_to(wide, (modules, *wide.shape[1:]))
