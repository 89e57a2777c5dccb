"""The plot of curves and all that is drawn on it."""
