"""A file's bytes to the tables in it, whatever its format."""
