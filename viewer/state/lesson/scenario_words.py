"""Scenarios in words: a line of settings, the looks that tell faults apart."""

from viewer.analysis.lesson.fault_quiz import settings_text
from viewer.physics.cell_string.scenario import Scenario
from viewer.physics.cell_string.simulate import SimulatedString
from viewer.physics.nomenclature import with_minus

LOOKS: tuple[tuple[str, str], ...] = (
    ("moves_with_sun", "Does it move with the sun?"),
    ("vanishes_when_cleaned", "Does it vanish when cleaned?"),
    ("infrared", "What would an infrared picture show?"),
    ("module_retest", "What would a retest of single modules show?"),
)


def settings_line(sim: SimulatedString) -> str:
    """Name, settings and conditions, such as "Hard shade …: light lost 60 %; 900 W/m², 50 °C"."""
    settings = "" if sim.scenario.key == "healthy" else f": {with_minus(settings_text(sim))}"
    return (
        f"{sim.scenario.name}{settings}; {sim.poa_global:.0f} W/m², {sim.temperature_cell:.0f} °C"
    )


def looks_of(scenario: Scenario) -> tuple[tuple[str, str], ...]:
    """Each look with what it would show, or a dash where the scenario does not say."""
    told = scenario.telling_apart
    return tuple((question, getattr(told, name) or "–") for name, question in LOOKS)
