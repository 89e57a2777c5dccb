"""A string reduced to what one sweep can tell, fitted to the sweep."""
