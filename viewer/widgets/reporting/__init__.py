"""Reports and their preview."""
