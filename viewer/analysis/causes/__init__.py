"""From signatures to ranked candidate causes, beside neighbours, until somebody settles them."""
