"""What lies on the plot of curves: styles, marks, bands, highlights."""
