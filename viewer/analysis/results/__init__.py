"""What is known about one trace after analysis, as frozen data."""
