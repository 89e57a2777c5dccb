"""What strings and faults of a site cost: the mismatch of a combiner, the worst strings."""
