"""How uneven the modules of a string are, and in what weather and how well it is measured.

The sizes are judgement: modules of one bin differ in current by about half a percent, and what a
field instrument reads has a few thousandths of noise. Common practice, no source.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Circumstances:
    """Ranges are (least, most); spreads are standard deviations as shares unless said otherwise."""

    name: str = "usual"
    technologies: tuple[str, ...] = ("mono-Si", "multi-Si")
    modules: tuple[int, int] = (1, 32)
    module_current_spread: float = 0.006
    module_voltage_spread: float = 0.0035
    module_temperature_spread: float = 0.7
    """Standard deviation of the modules' cell temperatures [K]."""
    cell_current_spread: float = 0.004
    cable_most: float = 0.005
    """Largest resistance of the cable as a share of the modules' V_mp / I_mp."""
    bypass_drop: tuple[float, float] = (0.33, 0.5)
    """Forward voltage of the bypass diodes at 9 A [V]."""
    reverse_as_forward: float = 0.33
    """Share of strings whose cells leak backwards only as much as their shunt says."""
    irradiance: tuple[float, float] = (500.0, 1100.0)
    """W/m² in the plane of the array."""
    temperature: tuple[float, float] = (10.0, 70.0)
    """°C of the cells."""
    any_temperature: bool = False
    """Whether temperature is drawn without regard to irradiance."""
    read_at_back: float = 0.3
    """Share of strings whose temperature is read at the back and not given as the cells'."""
    points: tuple[int, int] = (40, 400)
    noise: tuple[float, float] = (0.0005, 0.003)
    drift: float = 0.0
    """Standard deviation of the light's change from the first point of the sweep to the last."""
