"""How numbers, units, times and headings are written by people and instruments."""
