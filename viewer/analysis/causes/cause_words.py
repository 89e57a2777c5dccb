"""What each cause is called, and the next check that would settle it.

The checks are ordinary trade practice. Where they touch live parts the text leaves them to a
qualified person and the local code.
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

NEXT_CHECKS: dict[str, str] = {
    "soiling": "Clean two modules or the whole string and trace it again; compare with the "
    "cleaned irradiance sensor beside it.",
    "shading": "Look along the string for anything that throws a shadow or lies on the glass, "
    "remove it or wait until the sun has moved on, and trace again: a shade moves, a fault stays.",
    "cell_fault": "Take an infrared picture of the string under load, then trace the module that "
    "shows a hot cell alone, cleaned and unshaded.",
    "bypass_short": "Have a qualified person measure the open-circuit voltage of each module, or "
    "cover one module after another and watch the string's voltage: a module whose voltage is "
    "short by a group has the shorted diode.",
    "module_missing": "Count the modules in the string against the drawing and look for a "
    "bridged module; have a qualified person measure the open-circuit voltage of each.",
    "series_resistance": "Take an infrared picture of connectors, junction boxes and fuses under "
    "load, check cable length and section against the drawing, and have a qualified person "
    "measure the voltage drop.",
    "shunt": "Trace the modules one by one or take an infrared picture at open circuit; have a "
    "qualified person test the insulation resistance as the local code demands.",
    "module_mismatch": "Compare the modules' types, ages and flash data along the string and "
    "trace a few singly; clean the string first, for uneven soiling looks the same.",
    "degradation": "Clean the string, trace it again with the reference device in the same "
    "plane, and compare with its baseline; then have sample modules measured in a laboratory.",
    "irradiance_input": "Check that the irradiance sensor is clean, in the plane of the modules "
    "and read at the moment of the sweep; trace a neighbouring string at once.",
    "temperature_input": "Check that the temperature sensor has good contact behind a cell in "
    "the middle of a module; compare with a second place and with the neighbouring strings.",
    "none": "Nothing further from this curve; it does not show insulation, earthing or connectors.",
}

UNDECIDED_SHADE_OR_CELL = (
    "One curve cannot tell a shade from a faulty cell; a second trace at another sun position, "
    "stairs of neighbouring strings or an infrared picture can."
)
UNDECIDED_CURRENT = (
    "One curve cannot tell soiling, degradation and a wrong irradiance reading apart; the "
    "combiner's other strings (three or more that agree), cleaning or the baseline can."
)


def cause_name(cause: str) -> str:
    """A cause as people read it: in panes, lists and documents, never in JSON or CSV.

    One that is not of CAUSES, from a site file of a later version, reads as it is stored.
    """
    return _NAMES.get(cause, cause)
