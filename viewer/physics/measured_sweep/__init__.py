"""A measured sweep: cleaned, its quality, its key points."""
