"""What an instrument in the field would record of a simulated string: seeded noise."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.cell_string.simulate import SimulatedString

Array = NDArray[np.float64]


@dataclass(frozen=True)
class NoiseSize:
    """Standard deviations: of each point, of full scale; of the readings beside the sweep.

    voltage and current [share of Voc and Isc], irradiance [share], temperature [K]. The starting
    values are those of good field work (common practice, no source).
    """

    voltage: float = 0.0004
    current: float = 0.0012
    irradiance: float = 0.01
    temperature: float = 0.8


@dataclass(frozen=True, eq=False)
class RecordedSweep:
    """Points as recorded, voltage [V] rising, current [A], and the readings beside them."""

    voltage: Array
    current: Array
    poa_global: float
    temperature_cell: float


def recorded_sweep(
    sim: SimulatedString, seed: int, size: NoiseSize | None = None, points: int = 120
) -> RecordedSweep:
    """The sweep as it might be recorded: it begins a little above 0 V and ends short of Voc.

    The same seed gives the same record.
    """
    sigma = size or NoiseSize()
    rng = np.random.default_rng(seed)
    v_oc, i_sc = float(sim.voltage[-1]), float(sim.current[0])
    place = np.linspace(0.0, len(sim.voltage) - 1.0, points)
    voltage = np.interp(place, np.arange(len(sim.voltage)), sim.voltage)
    voltage = v_oc * (0.003 + 0.994 * voltage / max(v_oc, 1e-12))
    current = np.interp(voltage, sim.voltage, sim.current)
    noisy_voltage = voltage + sigma.voltage * v_oc * rng.standard_normal(points)
    noisy_current = current + sigma.current * i_sc * rng.standard_normal(points)
    order = np.argsort(noisy_voltage)
    return RecordedSweep(
        noisy_voltage[order],
        noisy_current[order],
        sim.recorded_irradiance * (1.0 + sigma.irradiance * float(rng.standard_normal())),
        sim.recorded_temperature + sigma.temperature * float(rng.standard_normal()),
    )
