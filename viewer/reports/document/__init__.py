"""Documents as data (`content`), built by purpose, and the writers that print them."""
