"""How modules of one type differ: seeded draws, so that a string can be made again."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from viewer.physics.cell_string.cells import CellBlock

Array = NDArray[np.float64]


@dataclass(frozen=True)
class SpreadSize:
    """Relative standard deviations between modules of one type.

    The starting values give about 0.6 % in power, what is left when makers sort modules to a
    few watts (common practice, no source).
    """

    current: float = 0.005
    voltage: float = 0.002
    series: float = 0.03
    shunt: float = 0.25


@dataclass(frozen=True, eq=False)
class ModuleSpread:
    """Factors near one, shape (modules,): on photocurrent, Voc, series and shunt resistance."""

    current: Array
    voltage: Array
    series: Array
    shunt: Array


def drawn_spread(modules: int, seed: int, size: SpreadSize | None = None) -> ModuleSpread:
    """Draw each module's factors; the same seed gives the same modules."""
    sigma = size or SpreadSize()
    normal = np.random.default_rng(seed).standard_normal((4, modules))
    return ModuleSpread(
        1.0 + sigma.current * normal[0],
        1.0 + sigma.voltage * normal[1],
        np.maximum(1.0 + sigma.series * normal[2], 0.1),
        np.exp(sigma.shunt * normal[3]),
    )


def with_spread(block: CellBlock, spread: ModuleSpread) -> CellBlock:
    """The block with every module moved by its factors."""
    current, voltage, series, shunt = (
        x[:, None, None, None]
        for x in (spread.current, spread.voltage, spread.series, spread.shunt)
    )
    return replace(
        block,
        photocurrent=block.photocurrent * current,
        saturation_current=block.saturation_current * saturation_factor(block, voltage),
        resistance_series=block.resistance_series * series,
        resistance_shunt=block.resistance_shunt * shunt,
    )


def saturation_factor(block: CellBlock, voltage: Array) -> Array:
    """What multiplies the saturation current so that Voc is multiplied by `voltage`.

    Voc of a cell is taken as nNsVth ln(photocurrent / saturation_current), per module at its
    best-lit cell, so that all cells of a module move alike.
    """
    brightest = block.photocurrent.max(axis=(1, 2, 3), keepdims=True)
    headroom = np.log1p(brightest / block.saturation_current)
    return np.asarray(np.exp((1.0 - voltage) * headroom))
