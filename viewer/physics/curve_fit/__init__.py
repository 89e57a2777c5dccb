"""The single-diode equation fitted to measured sweeps, many at a time."""
