"""Cable resistance against the resistivities and temperature corrections of the standards."""

import numpy as np
import pytest

from viewer.physics.cable_resistance import CONDUCTORS, cable_resistance

RESISTIVITY = {"copper": 0.017241, "aluminium": 0.028264}
"""ohm mm²/m at 20 °C: annealed copper after IEC 60028 (1/58), hard-drawn aluminium wire after
IEC 60889."""


@pytest.mark.parametrize("material", sorted(RESISTIVITY))
def test_every_nominal_section_is_near_the_metal_s_resistivity(material: str) -> None:
    """IEC 60228 limits lie above the metal's own resistance by stranding and tinning, up to
    about a fifth in fine wires; a mistyped entry falls out of this range."""
    for section, ohm in CONDUCTORS[material].ohm_per_km.items():
        share = ohm * section / 1000.0 / RESISTIVITY[material]
        assert 1.0 < share < 1.22, section


def test_a_run_of_4_mm2_by_hand() -> None:
    """50 m one way of 4 mm² tinned copper: 2 · 50 m · 5.09 ohm/km (IEC 60228, class 5)."""
    assert cable_resistance(50.0, 4.0) == pytest.approx(0.509)


@pytest.mark.parametrize(("material", "zero"), [("copper", 234.5), ("aluminium", 228.0)])
def test_temperature_correction_of_iec_60228(material: str, zero: float) -> None:
    """Annex of IEC 60228: R(20) = R(t) (zero + 20) / (zero + t)."""
    cold, warm = (cable_resistance(100.0, 16.0, material, t) for t in (20.0, 75.0))
    assert warm / cold == pytest.approx((zero + 75.0) / (zero + 20.0), rel=1e-9)


def test_sections_between_the_nominal_ones_fall_smoothly() -> None:
    sections = np.linspace(1.0, 400.0, 500)
    assert np.all(np.diff(cable_resistance(1.0, sections)) < 0.0)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [((10.0, 0.0), "cross-section"), ((-1.0, 4.0), "length"), ((1.0, 4.0, "tin"), "copper or")],
)
def test_nonsense_is_refused_in_words(arguments: tuple, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        cable_resistance(*arguments)
