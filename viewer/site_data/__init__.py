"""Records of a site (modules, strings, traces, visits) and the files that hold them."""
