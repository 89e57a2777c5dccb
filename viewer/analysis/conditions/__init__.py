"""What irradiance and temperature a trace was measured at, and whether that was good enough."""
