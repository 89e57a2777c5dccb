"""Visit folders and site files, opened to the same shape."""
