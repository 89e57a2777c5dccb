"""What is computed before a visit and at the string: limits, good hours, what to expect."""
