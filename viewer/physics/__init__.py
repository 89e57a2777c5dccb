"""Arrays in, arrays out: the single-diode model, datasheets, key points, translation."""
