"""What faults cost: mismatch of a combiner, energy and money, the worst strings of a site."""
