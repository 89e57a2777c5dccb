"""One string or module by itself, traced several times: its curve at other conditions, one set of
parameters for its repeated sweeps, a datasheet of its own."""
