"""Files of any layout to traces."""
