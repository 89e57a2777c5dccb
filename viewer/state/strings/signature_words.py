"""What the kinds of signature are called where there is little room, and what that means."""

KIND_HEADINGS: dict[str, str] = {
    "low_current": "Low I",
    "low_voltage": "Low V",
    "step": "Steps",
    "slope_near_isc": "Slope Isc",
    "slope_near_voc": "Slope Voc",
    "rounded_knee": "Knee",
    "inputs_suspect": "Inputs",
}
"""Also headings of the heat-grid's columns."""
KIND_MEANINGS: dict[str, str] = {
    "low_current": "Current below the prediction all along the curve",
    "low_voltage": "Voltage below the prediction",
    "step": "Steps: bypass groups limited to a lower current",
    "slope_near_isc": "Slope near short circuit",
    "slope_near_voc": "Slope near open circuit: more series resistance than predicted",
    "rounded_knee": "Rounded knee: modules of unequal current",
    "inputs_suspect": "A reading of irradiance or temperature that does not fit",
}
