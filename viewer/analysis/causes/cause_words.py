"""What each cause is called, and the next check that would settle it.

The checks are ordinary trade practice. Where they touch live parts or the glass, they end in a
caution.
"""

_NAMES: dict[str, str] = {
    "soiling": "soiling",
    "shading": "shading",
    "cell_fault": "cell fault",
    "bypass_short": "shorted bypass diode",
    "module_missing": "module missing",
    "series_resistance": "series resistance",
    "shunt": "shunt",
    "module_mismatch": "module mismatch",
    "degradation": "degradation",
    "irradiance_input": "irradiance reading",
    "temperature_input": "temperature reading",
    "none": "no fault",
}

PARTED = (
    "Connectors are never parted under load; this is a qualified person's work under the local "
    "code."
)
OPENED = "An open box is live: a qualified person's work under the local code."
ON_GLASS = "No cold water on hot glass; keep off broken modules."
EARTH_FAULT = "Rule out an earth fault before the array is touched."
"""Cautions: what goes with each work that opens a circuit or a box, or touches the modules."""

NEXT_CHECKS: dict[str, str] = {
    "soiling": "Clean two modules or the whole string and trace it again; compare with the "
    f"cleaned irradiance sensor beside it. {ON_GLASS}",
    "shading": "Look along the string for anything that throws a shadow or lies on the glass, "
    "remove it or wait until the sun has moved on, and trace again: a shade moves, a fault stays. "
    f"{ON_GLASS}",
    "cell_fault": "Take an infrared picture of the string under load, then trace the module that "
    f"shows a hot cell alone, cleaned and unshaded. {PARTED} {ON_GLASS}",
    "bypass_short": "Measure the open-circuit voltage of each module, or cover one module after "
    "another and watch the string's voltage: a module whose voltage is short by a group has the "
    f"shorted diode. {PARTED}",
    "module_missing": "Count the modules in the string against the drawing and look for a "
    f"bridged module; measure the open-circuit voltage of each. {PARTED}",
    "series_resistance": "Take an infrared picture of connectors, junction boxes and fuses under "
    "load, check cable length and section against the drawing, and measure the voltage drop. "
    f"{OPENED}",
    "shunt": f"{EARTH_FAULT} Test the insulation resistance, then trace the modules one by one or "
    f"take an infrared picture at open circuit. {PARTED}",
    "module_mismatch": "Compare the modules' types, ages and flash data along the string and "
    "trace a few singly; clean the string first, for uneven soiling looks the same. "
    f"{PARTED} {ON_GLASS}",
    "degradation": "Clean the string, trace it again with the reference device in the same "
    "plane, and compare with its baseline; then have sample modules measured in a laboratory. "
    f"{PARTED} {ON_GLASS}",
    "irradiance_input": "Check that the irradiance sensor is clean, in the plane of the modules "
    "and read at the moment of the sweep; trace a neighbouring string at once.",
    "temperature_input": "Check that the temperature sensor has good contact behind a cell in "
    "the middle of a module; compare with a second place and with the neighbouring strings.",
    "none": "Nothing further from this curve; it does not show insulation, earthing or connectors.",
}

UNDECIDED_SHADE_OR_CELL = "One curve cannot tell a shade from a faulty cell."
"""What can, the next checks of both say."""
UNDECIDED_CURRENT = (
    "One curve cannot tell soiling, degradation and a wrong irradiance reading apart; the "
    "combiner's other strings, cleaning or the baseline can."
)
MOVED = "The irradiance changed during the sweep, so that no one irradiance belongs to it."


def cause_name(cause: str) -> str:
    """A cause as people read it: in panes, lists and documents, never in JSON or CSV.

    One that is not of CAUSES, from a site file of a later version, reads as it is stored.
    """
    return _NAMES.get(cause, cause)
