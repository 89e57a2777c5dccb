"""Physics applied to site data: comparison, signatures, causes, mismatch, trends."""
